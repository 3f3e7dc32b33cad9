//! One recorded visit that all tests of exports share, and how it is exported.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use endarc_tests::process::Ended;
use endarc_tests::{Scratch, run};
use serde_json::Value;

/// A data folder with one closed visit of the demo; nothing writes to it.
pub(crate) fn data() -> &'static Path {
    &visit().0
}

/// What the demo measured in it: its answer as JSON.
pub(crate) fn measured() -> &'static Value {
    &visit().1
}

fn visit() -> &'static (PathBuf, Value) {
    static VISIT: OnceLock<(PathBuf, Value)> = OnceLock::new();
    VISIT.get_or_init(|| {
        // Beside the tests themselves, for nothing tells when the last of them has ended.
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("recorded-visit");
        if folder.exists() {
            std::fs::remove_dir_all(&folder).unwrap();
        }
        let data = folder.display().to_string();
        let answer = run(["demo", "--fast", "--json", "--data-dir", &data]).done().json();
        (folder, answer)
    })
}

/// A copy of it that a test may change.
pub(crate) fn copy(scratch: &Scratch) -> PathBuf {
    let copy = scratch.at("data");
    std::fs::create_dir(&copy).unwrap();
    for name in endarc_tests::scratch::names(data()) {
        std::fs::copy(data().join(&name), copy.join(&name)).unwrap();
    }
    copy
}

/// Exports to a folder of this name.
pub(crate) fn export(scratch: &Scratch, name: &str, arguments: &[&str]) -> PathBuf {
    try_export(data(), scratch, name, arguments).done();
    scratch.at(name)
}

/// The same from another data folder, whatever comes of it.
pub(crate) fn try_export(data: &Path, scratch: &Scratch, name: &str, arguments: &[&str]) -> Ended {
    let (output, data) = (scratch.at(name).display().to_string(), data.display().to_string());
    let all = ["export", "--output", &output, "--data-dir", &data];
    run(all.iter().chain(arguments))
}

/// Holds every file of an export against its checksum (GNU coreutils).
pub(crate) fn assert_checksums(folder: &Path) {
    let output =
        Command::new("sha256sum").args(["-c", "SHA256SUMS"]).current_dir(folder).output().unwrap();
    let said = endarc_tests::python::said(&output);
    assert!(output.status.success(), "{said}");
    let checked = said.lines().filter(|line| line.ends_with(": OK")).count();
    assert_eq!(checked + 1, files(folder).len(), "every file but the checksums: {said}");
}

/// Every file below a folder, sorted, as the text of its path.
pub(crate) fn files(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for name in endarc_tests::scratch::names(&next) {
            let path = next.join(name);
            match path.is_dir() {
                true => folders.push(path),
                false => found.push(path.strip_prefix(folder).unwrap().display().to_string()),
            }
        }
    }
    found.sort();
    found
}

/// Every byte of every file below a folder, as text.
pub(crate) fn everything(folder: &Path) -> String {
    let read = |name: &String| {
        let bytes = std::fs::read(folder.join(name)).unwrap();
        format!("{name}\n{}", String::from_utf8_lossy(&bytes))
    };
    files(folder).iter().map(read).collect()
}
