//! `--source replay:DIR`: a recording that is streamed gives the values of the same files in batch,
//! live and final.

use std::path::Path;

use endarc_tests::truth::number;
use endarc_tests::{Daemon, Deadline, Scratch, database, run};
use serde_json::Value;

#[test]
fn values_are_the_same_streamed_and_in_batch() {
    let scratch = Scratch::new();
    let (folder, data) = (scratch.at("clinic"), scratch.at("data"));
    run(["simulate", "clinic", "--output", &folder.display().to_string()]).done();
    let source = format!("replay:{}", folder.display());
    let mut daemon = Daemon::start(&data, &source, &["--speed", "200", "--person", "P-777"]);
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let state = daemon.get("/api/state").json();
    assert_eq!(state["ended"], true);
    assert_eq!(state["visit"]["person"], "P-777");
    let id = state["visit"]["id"].as_str().unwrap();
    let stored = daemon.get(&format!("/api/visits/{id}")).json();
    for side in ["left", "right"] {
        let streamed = told(&database::live_values(&data, side), "stored");
        assert_eq!(streamed, analysed(&folder, side, &["--live"]), "{side}: live");
        let mut kept = stored["repetitions"].as_array().unwrap().clone();
        kept.retain(|one| one["side"] == side && one["struck_out"].is_null());
        assert!(kept.iter().all(|one| one["value_kind"] == "final"), "{kept:?}");
        assert_eq!(told(&kept, "stored"), analysed(&folder, side, &[]), "{side}: final");
    }
    assert_eq!(daemon.stop().code(), 0);
}

fn analysed(folder: &Path, side: &str, options: &[&str]) -> Vec<String> {
    let file = |name: &str| folder.join(name).display().to_string();
    let (shank, events) = (file(&format!("{side}-shank.csv")), file("events.csv"));
    let pelvis = file("pelvis.csv");
    let fixed = ["analyse", &shank, "--events", &events, "--pelvis", &pelvis];
    let test = ["--side", side, "--test", "prone-hip-rotation", "--json"];
    let answer = run(fixed.iter().chain(&test).chain(options)).done().json();
    told(answer["repetitions"].as_array().unwrap(), "analyse")
}

/// What a repetition says, in a form that can be compared; by time.
fn told(repetitions: &[Value], whose: &str) -> Vec<String> {
    assert!(!repetitions.is_empty(), "{whose}: no repetition");
    let mut sorted = repetitions.to_vec();
    let at = |one: &Value| number(one, "end_range_at_s");
    sorted.sort_by(|a, b| at(a).total_cmp(&at(b)));
    let line = |one: &Value| {
        let word = |key: &str| one[key].as_str().unwrap_or_default().to_owned();
        // A nanodegree: the same sums in the same order leave nothing to differ.
        format!(
            "{} {} {:.9}° ± {:.9}° at {:.6} s",
            word("phase"),
            word("direction"),
            number(one, "end_range_deg"),
            number(one, "uncertainty_deg"),
            at(one),
        )
    };
    sorted.iter().map(line).collect()
}
