//! Programs from outside that exports are held against, in Python.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::reference::skip;

/// A Python that can import `module`: `ENDARC_PYTHON`, or `python3`. `None`, and a word about it,
/// where there is none: the test is skipped then, or fails under `ENDARC_STRICT=1`.
#[must_use]
pub fn python_with(module: &str) -> Option<Command> {
    let python = std::env::var("ENDARC_PYTHON").unwrap_or_else(|_unset| "python3".to_owned());
    let has = Command::new(&python)
        .args(["-c", &format!("import {module}")])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if has {
        return Some(Command::new(python));
    }
    skip(&format!(
        "{python} cannot import {module}: install it, or name a Python with ENDARC_PYTHON"
    ));
    None
}

/// A program that is installed beside that Python, such as a validator.
///
/// # Panics
/// When the Python has no folder.
#[must_use]
pub fn beside(python: &Command, program: &str) -> Command {
    let folder = Path::new(python.get_program()).parent().expect("Python lies in a folder");
    match folder.as_os_str().is_empty() {
        true => Command::new(program),
        false => Command::new(folder.join(program)),
    }
}

/// What a program said, both ways.
#[must_use]
pub fn said(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    text(&output.stdout) + &text(&output.stderr)
}
