//! `endarc demo --fast`: the whole job without hardware, its answer and what it keeps.

use std::collections::BTreeSet;
use std::ffi::OsStr;

use endarc_tests::daemon::visits;
use endarc_tests::truth::{max_abs, mean_abs, number};
use endarc_tests::{Process, Scratch, Watch, endarc, run};
use serde_json::Value;

/// What each measured repetition has, at least.
const REPETITION: [&str; 13] = [
    "side",
    "phase",
    "direction",
    "end_range_deg",
    "uncertainty_deg",
    "start_s",
    "end_range_at_s",
    "hold_s",
    "knee_flexion_deg",
    "pelvis_roll_deg",
    "barriers",
    "flags",
    "truth",
];

/// What each verdict has, at least.
const VERDICT: [&str; 9] = [
    "side",
    "direction",
    "baseline_mean_deg",
    "retest_mean_deg",
    "change_deg",
    "ci95_deg",
    "mdc95_deg",
    "mdc95_source",
    "statement",
];

#[test]
fn every_end_range_is_found_and_near_the_truth() {
    let watch = Watch::start();
    let answer = run(["demo", "--fast", "--json"]).done().json();
    println!("demo --fast --json took {:.1} s", watch.seconds());
    assert_eq!(answer["missed"], serde_json::json!([]), "missed");
    assert_eq!(answer["invented"], serde_json::json!([]), "invented");
    let repetitions = answer["repetitions"].as_array().unwrap();
    assert!(repetitions.len() >= 12, "both legs, both ways, before and after");
    let error = |one: &Value| number(one, "end_range_deg") - number(&one["truth"], "end_range_deg");
    let errors: Vec<f64> = repetitions.iter().map(error).collect();
    println!("mean error {:.3}°, greatest {:.3}°", mean_abs(&errors), max_abs(&errors));
    assert!(max_abs(&errors) <= 1.0, "{errors:?}");
    for one in repetitions {
        assert!(number(one, "uncertainty_deg") > 0.0, "{one}");
        for key in ["side", "phase", "direction"] {
            assert_eq!(one[key], one["truth"][key], "{one}");
        }
    }
}

#[test]
fn the_answer_has_the_documented_keys() {
    let ended = run(["demo", "--fast", "--json"]).done();
    // Parsed whole: nothing else is on stdout.
    let answer = ended.json();
    let documented = set(&["invented", "missed", "repetitions", "verdicts", "visit"]);
    assert!(keys(&answer).is_superset(&documented));
    assert!(answer["visit"]["id"].is_string() && answer["visit"]["person"].is_string());
    for one in answer["repetitions"].as_array().unwrap() {
        assert_eq!(keys(one), set(&REPETITION));
        let truth = set(&["direction", "end_range_deg", "phase", "side"]);
        assert_eq!(keys(&one["truth"]), truth);
    }
    let verdicts = answer["verdicts"].as_array().unwrap();
    assert!(!verdicts.is_empty());
    for one in verdicts {
        assert!(keys(one).is_superset(&set(&VERDICT)), "{one}");
    }
    assert!(keys_with_truth(&answer).iter().all(|key| key == "truth"));
}

#[test]
fn the_same_visit_comes_out_every_time() {
    let answer = || run(["demo", "--fast", "--json"]).done().stdout;
    assert_eq!(answer(), answer());
}

#[test]
fn live_values_are_told_on_request() {
    let live = run(["demo", "--fast", "--json", "--live"]).done().json();
    let last = run(["demo", "--fast", "--json"]).done().json();
    assert_eq!(live["missed"], serde_json::json!([]));
    assert_eq!(live["invented"], serde_json::json!([]));
    assert_ne!(live["repetitions"], last["repetitions"]);
}

#[test]
fn nothing_of_a_scratch_visit_is_left_behind() {
    let scratch = Scratch::new();
    let mut command = endarc(["demo", "--fast"]);
    command.env("TMPDIR", scratch.path());
    let ended = Process::start(command).end().done();
    assert_eq!(scratch.names(), Vec::<String>::new());
    assert!(ended.stdout.contains("not a diagnostic"), "{}", ended.stdout);
}

#[test]
fn a_named_folder_keeps_the_visit() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let demo: [&OsStr; 5] = [
        "demo".as_ref(),
        "--fast".as_ref(),
        "--json".as_ref(),
        "--data-dir".as_ref(),
        data.as_os_str(),
    ];
    let answer = run(demo).done().json();
    let kept = visits(&data);
    assert_eq!(kept.len(), 1);
    assert_eq!(kept[0]["id"], answer["visit"]["id"]);
    assert_eq!(kept[0]["person"], answer["visit"]["person"]);
    assert_eq!(kept[0]["state"], "closed");

    // A second walk through is a second visit, with the same measurements.
    let again = run(demo).done().json();
    assert_eq!(visits(&data).len(), 2);
    assert_ne!(again["visit"]["id"], answer["visit"]["id"]);
    assert_eq!(again["repetitions"], answer["repetitions"]);
}

fn keys(object: &Value) -> BTreeSet<String> {
    object.as_object().unwrap().keys().cloned().collect()
}

fn set(keys: &[&str]) -> BTreeSet<String> {
    keys.iter().map(|key| (*key).to_owned()).collect()
}

/// All keys anywhere in a value that speak of truth.
fn keys_with_truth(value: &Value) -> Vec<String> {
    match value {
        Value::Array(items) => items.iter().flat_map(keys_with_truth).collect(),
        Value::Object(fields) => {
            let own = fields.keys().filter(|key| key.contains("truth")).cloned();
            own.chain(fields.values().flat_map(keys_with_truth)).collect()
        }
        _ => Vec::new(),
    }
}
