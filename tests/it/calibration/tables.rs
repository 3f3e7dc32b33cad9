//! `endarc tables level` and `list`, and what a stored tilt does to a visit.

use endarc_tests::truth::{self, mean_abs, number};
use endarc_tests::{Daemon, Deadline, Scratch, database, run};
use serde_json::{Value, json};

use super::rests::{self, CHEAP, Recording};

/// The upward vertical in the frame of a sensor on a table of these tilts, x turned by so much from
/// the head end.
fn up(sideways_deg: f64, head_foot_deg: f64, heading_deg: f64) -> [f64; 3] {
    // Components along the table's axes: x to the head end, y to a prone person's left.
    let (x, y) = (head_foot_deg.to_radians().sin(), sideways_deg.to_radians().sin());
    let (sine, cosine) = heading_deg.to_radians().sin_cos();
    [cosine * x + sine * y, cosine * y - sine * x, (1.0 - x * x - y * y).sqrt()]
}

fn rest(scratch: &Scratch, name: &str, up: [f64; 3], seed: u64) -> String {
    let mut recording = Recording::new(CHEAP, seed);
    recording.carry(2.0);
    recording.lie(up, 8.0);
    recording.carry(1.0);
    recording.write(scratch.at(name)).display().to_string()
}

#[test]
fn two_rests_give_the_tilt_whatever_the_sensors_own_errors() {
    let scratch = Scratch::new();
    let data = scratch.at("data").display().to_string();
    for (sideways, head_foot) in [(1.8, -0.6), (-2.5, 0.3)] {
        let first = rest(&scratch, "first.csv", up(sideways, head_foot, 4.0), 3);
        let second = rest(&scratch, "second.csv", up(sideways, head_foot, 177.0), 4);
        let level = ["tables", "level", "room 2", "--from", &first, "--data-dir", &data, "--json"];
        let found = run(level.iter().chain(&["--turned", &second])).done().json();
        let (tilt, sd) = (number(&found, "sideways_deg"), number(&found, "sideways_sd_deg"));
        println!("sideways {tilt:+.3}° ± {sd:.3}°, true {sideways:+.1}°");
        assert!((tilt - sideways).abs() < 0.12 && (0.1..0.3).contains(&sd), "{found}");
        assert!((number(&found, "head_foot_deg") - head_foot).abs() < 0.2, "{found}");
        let listed = run(["tables", "list", "--json", "--data-dir", &data]).done().json();
        assert_eq!(listed.as_array().unwrap().len(), 1, "the newest counts");
        assert_eq!(listed[0], found);
    }
}

#[test]
fn one_rest_needs_a_calibration_and_is_less_certain() {
    let scratch = Scratch::new();
    let data = scratch.at("data").display().to_string();
    let first = rest(&scratch, "first.csv", up(2.0, 0.0, 0.0), 5);
    let level = ["tables", "level", "room 3", "--from", &first, "--data-dir", &data, "--json"];
    assert_eq!(run(level).code(), 2, "one rest of any sensor is no measurement");

    let rests = rests::six(CHEAP, 4.0, 6).write(scratch.at("rests.csv")).display().to_string();
    let calibrate = ["sensors", "calibrate", "AA:02", "--from", &rests, "--json"];
    let calibrated = run(calibrate.iter().chain(&["--data-dir", &data])).done().stdout;
    let file = scratch.file("calibration.json", calibrated).display().to_string();
    let found = run(level.iter().chain(&["--calibration", &file])).done().json();
    assert_eq!(found["method"], "one-rest");
    assert!((number(&found, "sideways_deg") - 2.0).abs() < 0.2, "{found}");
    assert!(number(&found, "sideways_sd_deg") > 0.5, "{found}");
}

#[test]
fn what_is_no_levelling_is_refused_and_not_kept() {
    let scratch = Scratch::new();
    let data = scratch.at("data").display().to_string();
    let first = rest(&scratch, "first.csv", up(1.0, 0.0, 0.0), 7);
    let refuse = |second: &str, words: &str| {
        let level = ["tables", "level", "room 2", "--from", &first, "--turned", second];
        let ended = run(level.iter().chain(&["--data-dir", &data]));
        assert_eq!(ended.code(), 1, "{words}");
        assert!(ended.stderr.contains(words), "{}", ended.stderr);
        assert!(!scratch.at("data").exists(), "nothing is kept");
    };
    refuse(&rest(&scratch, "edge.csv", [0.0, 1.0, 0.1], 8), "lay it flat, z up");
    refuse(&rest(&scratch, "elsewhere.csv", up(-20.0, 0.0, 0.0), 9), "turn it by half a turn");
    let mut carried = Recording::new(CHEAP, 10);
    carried.carry(10.0);
    let carried = carried.write(scratch.at("carried.csv")).display().to_string();
    refuse(&carried, "lay it on the table, let go");
}

/// One leg on a table whose left side is 2.5° higher; an invented person.
const TILTED: &str = r#"seed = 8
person = "P-903"

[[sensors]]
role = "right-shank"

[body]
table_tilt_deg = 2.5

[[script]]
align-knee = { times = 3, side = "right" }

[[script]]
neutral = { side = "right" }

[[script]]
baseline = { side = "right", repetitions = 2 }
"#;

/// Levels "room 2" at 2.5° by two rests.
fn level(scratch: &Scratch, data: &str) {
    let first = rest(scratch, "first.csv", up(2.5, 0.0, 0.0), 13);
    let second = rest(scratch, "second.csv", up(2.5, 0.0, 180.0), 14);
    let level = ["tables", "level", "room 2", "--from", &first, "--turned", &second];
    run(level.iter().chain(&["--data-dir", data])).done();
}

#[test]
fn a_visit_is_measured_with_its_tables_stored_tilt_and_says_so() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    level(&scratch, &data.display().to_string());
    let scenario = scratch.file("tilted.toml", TILTED);
    let recording = scratch.at("recording").display().to_string();
    run(["simulate", &scenario.display().to_string(), "--output", &recording]).done();
    let truth = truth::read(&scratch.at("recording").join("truth.json"));

    let source = format!("sim:{}", scenario.display());
    let measured = |options: &[&str]| {
        let mut daemon = Daemon::start(&data, &source, options);
        daemon.process.line_with("closed and kept", Deadline::after_s(120));
        let id = daemon.get("/api/state").json()["visit"]["id"].as_str().unwrap().to_owned();
        let stored = daemon.get(&format!("/api/visits/{id}")).json();
        (stored, daemon.stop().stderr)
    };
    let error = |stored: &Value| {
        let score = truth::score(stored["repetitions"].as_array().unwrap(), &truth);
        score.assert_complete("tilted table");
        mean_abs(&score.errors_deg())
    };
    // The name is the same however it is written.
    let (with, said) = measured(&["--fast", "--table", "ROOM 2"]);
    let (without, _) = measured(&["--fast"]);
    println!("error {:.2}° → {:.2}°", error(&without), error(&with));
    assert!(error(&without) > 2.0 && error(&with) < 0.6);
    assert!(said.contains("table room 2: sideways +2.") && said.contains("Has it moved"), "{said}");
    assert_eq!((&with["table"]["table"], &without["table"]), (&json!("room 2"), &Value::Null));
    let sd = |stored: &Value| number(&stored["repetitions"][0], "uncertainty_deg");
    let tilt_sd = number(&with["table"], "sideways_sd_deg");
    assert!(sd(&with) > tilt_sd, "the tilt's own uncertainty ({tilt_sd}°) is in the value");

    let data = data.display().to_string();
    let unknown =
        run(["run", "--source", &source, "--fast", "--table", "room 9", "--data-dir", &data]);
    assert_eq!(unknown.code(), 1);
    assert!(unknown.stderr.contains("no table is called room 9 (room 2)"), "{}", unknown.stderr);
}

#[test]
fn the_page_chooses_the_table_before_the_visit_and_not_in_it() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    level(&scratch, &data.display().to_string());
    let scenario = scratch.file("tilted.toml", TILTED);
    let source = format!("sim:{}", scenario.display());
    let daemon = Daemon::start(&data, &source, &["--speed", "0.5"]);
    let mut live = daemon.live();
    let choose = |table: &Value| daemon.post("/api/table", &json!({ "table": table }));
    assert_eq!(daemon.get("/api/tables").json()[0]["table"], "room 2");
    assert!(choose(&json!("room 9")).problem(404).contains("/api/tables"));
    assert_eq!(choose(&json!("room 2")).status, 202);
    let state = live.first(|state| state["table"]["table"] == "room 2");
    assert!((number(&state["table"], "sideways_deg") - 2.5).abs() < 0.2, "{state}");
    live.first(|state| state["prompt"].as_str().unwrap().starts_with("Bend and straighten"));
    assert!(choose(&Value::Null).problem(409).contains("before the first neutral hold"));
    assert_eq!(daemon.stop().code(), 0);
    assert_eq!(database::table_of_the_newest_visit(&data).as_deref(), Some("room 2"));
}
