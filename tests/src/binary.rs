//! The program under test: built by the very test run that uses it.
//!
//! Cargo builds a package's programs for that package's own tests only. These tests live in a
//! package of their own, so they ask cargo for the program first: what is tested is never left over
//! from an earlier build.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use serde_json::Value;

/// Where the freshly built program is. The first call of a process builds it.
///
/// # Panics
/// When it does not build; cargo has said why on stderr.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<Option<PathBuf>> = OnceLock::new();
    PROGRAM.get_or_init(build).as_deref().expect("the program does not build: see above")
}

/// The workspace's root folder.
#[must_use]
pub fn workspace() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace")
}

/// Cargo itself, as it was called for these tests, in the workspace's root.
#[must_use]
pub fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(workspace());
    // What cargo set for this test process is not for the packages built now.
    for (name, _) in std::env::vars_os() {
        let of_package = name.to_str().is_some_and(|name| {
            name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_")
        });
        if of_package || name == "LD_LIBRARY_PATH" {
            command.env_remove(name);
        }
    }
    command
}

/// Builds it once; tests that come after a failure do not try again.
fn build() -> Option<PathBuf> {
    let output = cargo()
        .args(["build", "--package", "endarc", "--bin", "endarc", "--profile", &profile()])
        .arg("--message-format=json-render-diagnostics")
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()
        .expect("cargo can be called");
    let text = String::from_utf8(output.stdout).expect("cargo writes UTF-8");
    output.status.success().then(|| text.lines().find_map(executable)).flatten()
}

/// The path in cargo's message about the program (`compiler-artifact`, see "External tools" in The
/// Cargo Book).
fn executable(line: &str) -> Option<PathBuf> {
    let message: Value = serde_json::from_str(line).ok()?;
    let is_program = message["reason"] == "compiler-artifact"
        && message["target"]["name"] == "endarc"
        && message["target"]["kind"] == serde_json::json!(["bin"]);
    is_program.then(|| message["executable"].as_str().map(PathBuf::from)).flatten()
}

/// The profile these tests were built with: they run as `target/PROFILE/deps/it-…`, and the profile
/// `dev` has the folder `debug`.
fn profile() -> String {
    let own = std::env::current_exe().expect("a test knows its own path");
    let folder = own.ancestors().nth(2).and_then(Path::file_name).and_then(|name| name.to_str());
    match folder.expect("tests lie in a folder of the target folder") {
        "debug" => "dev".to_owned(),
        name => name.to_owned(),
    }
}
