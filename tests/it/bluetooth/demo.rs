//! `endarc demo --bluetooth`: two processes, and the job between them.

use std::fs;
use std::os::unix::fs::symlink;

use endarc_tests::truth::{max_abs, number};
use endarc_tests::{Deadline, Process, Scratch, endarc, peripheral};
use serde_json::{Value, json};

/// As short as a visit with an answer can be.
const SCENARIO: &str = r#"
seed = 43
person = "P-903"

[[sensors]]
role = "right-shank"

[[script]]
neutral = {}

[[script]]
align-knee = { times = 2 }

[[script]]
baseline = { repetitions = 1 }
"#;

#[test]
fn the_demo_measures_over_bluetooth() {
    if !peripheral::is_possible() {
        return;
    }
    let scratch = Scratch::new();
    let scenario = scratch.file("short.toml", SCENARIO);
    let mut command = endarc(["demo", "--bluetooth", "--json", "--scenario"]);
    command.arg(&scenario);
    let mut demo = Process::start(command);
    demo.line_with("page: http://", Deadline::after_s(120));
    demo.line_with("page is served", Deadline::after_s(240));
    demo.terminate();
    let answer = demo.end().done().json();
    assert_eq!((&answer["missed"], &answer["invented"]), (&json!([]), &json!([])), "{answer}");
    let repetitions = answer["repetitions"].as_array().unwrap();
    assert_eq!(repetitions.len(), 2, "one each way");
    let error = |one: &Value| number(one, "end_range_deg") - number(&one["truth"], "end_range_deg");
    let errors: Vec<f64> = repetitions.iter().map(error).collect();
    assert!(max_abs(&errors) <= 1.0, "{errors:?}");
}

#[test]
fn a_demo_without_a_bus_says_what_is_missing() {
    let scratch = Scratch::new();
    // A shell, and nothing else.
    let programs = scratch.at("programs");
    fs::create_dir(&programs).unwrap();
    symlink("/bin/sh", programs.join("sh")).unwrap();
    let mut command = endarc(["demo", "--bluetooth"]);
    command.env("PATH", &programs);
    let ended = Process::start(command).end();
    assert_eq!(ended.code(), 1, "{ended:?}");
    assert!(ended.stderr.contains("dbus-daemon is not installed"), "{}", ended.stderr);
    assert!(ended.stderr.contains("install the package"), "{}", ended.stderr);
}
