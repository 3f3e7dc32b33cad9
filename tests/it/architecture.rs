//! Who may import whom, and how sources are kept: the rules of the workspace's layout, held against
//! cargo's own account of it and against the text of the sources.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use endarc_tests::binary::{cargo, workspace};
use serde_json::Value;

/// Each package of the workspace, and those of ours that it may import.
const MAY_IMPORT: [(&str, &[&str]); 5] = [
    ("endarc-protocol", &[]),
    ("endarc-analysis", &["endarc-protocol"]),
    ("endarc-simulator", &["endarc-protocol"]),
    ("endarc", &["endarc-protocol", "endarc-analysis", "endarc-simulator"]),
    ("endarc-tests", &["endarc-protocol", "endarc-analysis", "endarc-simulator", "endarc"]),
];

/// No source is longer, in lines.
const LONGEST: usize = 400;

/// The one file that may read the system's clock.
const CLOCK: &str = "daemon/src/clock.rs";

/// Reading the system's clock, as it is written.
const CLOCK_READINGS: [&str; 4] =
    ["Instant::now(", "SystemTime::now(", "Timestamp::now(", "ZonedDateTime::now("];

#[test]
fn packages_import_only_what_they_may() {
    let metadata = metadata();
    let packages = metadata["packages"].as_array().unwrap();
    let names: BTreeSet<&str> = packages.iter().map(name).collect();
    assert_eq!(names, MAY_IMPORT.iter().map(|(name, _)| *name).collect());
    for package in packages {
        let (_, allowed) = MAY_IMPORT.iter().find(|(own, _)| *own == name(package)).unwrap();
        // Of every kind: dev- and build-dependencies too.
        for dependency in package["dependencies"].as_array().unwrap() {
            let other = name(dependency);
            assert!(
                !names.contains(other) || allowed.contains(&other),
                "{} must not import {other}",
                name(package)
            );
        }
    }
}

#[test]
fn pure_rooms_have_no_inputs_and_outputs() {
    // Sans-IO by what is not linked: no async, no sockets, no database.
    let metadata = metadata();
    for package in metadata["packages"].as_array().unwrap() {
        let pure = ["endarc-protocol", "endarc-analysis", "endarc-simulator"];
        for dependency in package["dependencies"].as_array().unwrap() {
            let forbidden = ["tokio", "axum", "rusqlite", "btleplug", "ureq", "zbus"];
            // The simulator's peripheral is a room of its own: a feature that is off by itself.
            let peripheral = name(package) == "endarc-simulator" && dependency["optional"] == true;
            assert!(
                peripheral
                    || !pure.contains(&name(package))
                    || !forbidden.contains(&name(dependency)),
                "{} must not link {}",
                name(package),
                name(dependency)
            );
        }
    }
    let imported =
        ["tokio", "axum", "rusqlite", "std::fs", "std::net", "crate::store", "crate::http"];
    for room in ["daemon/src/visit", "daemon/src/calibrating"] {
        for file in sources(&workspace().join(room)) {
            for (number, line) in code(&file) {
                for what in imported {
                    assert!(!line.contains(what), "{}:{number}: it is pure: {what}", shown(&file));
                }
            }
        }
    }
}

#[test]
fn one_file_reads_the_clock() {
    let mut read = Vec::new();
    for crate_folder in ["protocol", "analysis", "simulator", "daemon"] {
        for file in sources(&workspace().join(crate_folder)) {
            let reads =
                |(_, line): &(usize, String)| CLOCK_READINGS.iter().any(|at| line.contains(at));
            if code(&file).iter().any(reads) {
                read.push(shown(&file));
            }
        }
    }
    assert_eq!(read, [CLOCK]);
}

#[test]
fn sources_say_what_they_are_and_stay_short() {
    let all = sources(workspace());
    assert!(all.len() > 100, "only {} sources were found", all.len());
    let mut faults = Vec::new();
    for file in all {
        let text = fs::read_to_string(&file).unwrap();
        if !text.starts_with("//!") {
            faults.push(format!("{} does not begin by saying what it is", shown(&file)));
        }
        let lines = text.lines().count();
        if lines > LONGEST {
            faults.push(format!("{} has {lines} lines", shown(&file)));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What cargo says of the workspace's own packages.
fn metadata() -> Value {
    let arguments = ["metadata", "--no-deps", "--format-version", "1", "--offline"];
    let output = cargo().args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn name(of: &Value) -> &str {
    of["name"].as_str().unwrap()
}

/// Every Rust source below a folder, sorted; what is built is none.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let hidden = path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        if path.is_dir() && !hidden && !path.ends_with("target") {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The lines of a source without its comments and tests, each with its number. Tests may stop and
/// read a clock of their own.
fn code(file: &Path) -> Vec<(usize, String)> {
    if file.ends_with("tests.rs") || file.parent().is_some_and(|folder| folder.ends_with("tests")) {
        return Vec::new();
    }
    let text = fs::read_to_string(file).unwrap();
    // A module of tests stands at the end of its file.
    let lines = text.lines().take_while(|line| *line != "mod tests {").enumerate();
    let is_comment = |line: &str| line.trim_start().starts_with("//");
    lines
        .filter(|(_, line)| !is_comment(line))
        .map(|(index, line)| (index + 1, line.to_owned()))
        .collect()
}

/// A path as the rules write it.
fn shown(file: &Path) -> String {
    file.strip_prefix(workspace()).unwrap().to_string_lossy().replace('\\', "/")
}
