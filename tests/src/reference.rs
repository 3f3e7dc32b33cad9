//! The folder of recordings that were made outside the project.

use std::path::PathBuf;

/// What tests read from: holds `data/` and `reference/`.
const VARIABLE: &str = "ENDARC_REFERENCE_DIR";

/// The folder that `ENDARC_REFERENCE_DIR` names, or `None` (and a word about it) where it is unset:
/// the test is skipped then.
///
/// # Panics
/// When it is unset under `ENDARC_STRICT=1`, or names no folder with `data/` in it.
#[must_use]
pub fn reference() -> Option<PathBuf> {
    let Some(folder) = std::env::var_os(VARIABLE).map(PathBuf::from) else {
        skip(&format!("{VARIABLE} is not set: it names the folder with data/ and reference/"));
        return None;
    };
    assert!(folder.join("data").is_dir(), "{VARIABLE}: {} has no data/", folder.display());
    // The program runs elsewhere, and cargo runs tests in their package's folder.
    Some(folder.canonicalize().expect("the folder has a full path"))
}

/// Says that a test is skipped, and why.
///
/// # Panics
/// Under `ENDARC_STRICT=1`, where nothing may be skipped.
pub fn skip(why: &str) {
    let strict = std::env::var("ENDARC_STRICT").is_ok_and(|value| value == "1");
    assert!(!strict, "nothing may be skipped under ENDARC_STRICT=1, but {why}");
    let thread = std::thread::current();
    // Written past the test harness, which shows the output of failed tests only.
    use std::io::Write as _;
    let name = thread.name().unwrap_or("a test");
    writeln!(std::io::stderr(), "skipped: {name}: {why}").ok();
}
