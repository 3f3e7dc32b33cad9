//! Accessibility, as `axe-core` finds it in a real browser: an engine of general use, installed for the
//! tests alone.

use serde_json::Value;

use crate::browser::Browser;
use crate::skip;

/// Names the engine's script, `axe.min.js`.
const VARIABLE: &str = "ENDARC_AXE";

/// The engine's script; `None`, with a word about why, where it is not installed.
///
/// # Panics
/// When the file that is named cannot be read.
#[must_use]
pub fn script() -> Option<String> {
    let Some(file) = std::env::var_os(VARIABLE) else {
        skip("ENDARC_AXE does not name the script of axe-core");
        return None;
    };
    Some(std::fs::read_to_string(file).expect("the script that ENDARC_AXE names"))
}

/// What it finds on the page that is open, a line for each rule that is broken and where.
///
/// # Panics
/// When the engine does not run.
#[must_use]
pub fn violations(browser: &mut Browser, script: &str) -> Vec<String> {
    browser.value(&format!("{script}; undefined"));
    let found = browser.value(
        "axe.run(document, { resultTypes: ['violations'] }).then((all) => all.violations.map(
           (one) => `${one.id} (${one.help}): ${one.nodes.map((node) => node.target).join('; ')}`))",
    );
    let found = found.as_array().expect("a list").clone();
    found.iter().map(|one: &Value| one.as_str().unwrap_or_default().to_owned()).collect()
}
