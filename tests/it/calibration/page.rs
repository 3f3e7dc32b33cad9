//! The page leads through a calibration while `run` runs, and what it finds counts in that visit.

use std::path::{Path, PathBuf};

use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;
use endarc_tests::truth::number;
use endarc_tests::{Daemon, Deadline, Scratch, database, run};
use serde_json::{Value, json};

use super::rests::{CHEAP, FACES, Recording};

/// One leg, measured twice each way; an invented person.
const ONE_LEG: &str = r#"seed = 5
person = "P-902"

[[sensors]]
role = "right-shank"

[[script]]
align-knee = { times = 3, side = "right" }

[[script]]
neutral = { side = "right" }

[[script]]
baseline = { side = "right", repetitions = 2 }
"#;

/// How long the sensor is laid about before the visit begins, s.
const BEFORE_S: f64 = 80.0;

/// A recording of a cheap sensor: laid on its six sides, then left alone, then worn for a visit.
fn recording(scratch: &Scratch) -> PathBuf {
    let scenario = scratch.file("one-leg.toml", ONE_LEG);
    let folder = scratch.at("visit");
    let to = folder.display().to_string();
    run(["simulate", &scenario.display().to_string(), "--output", &to]).done();

    let mut about = Recording::new(CHEAP, 41);
    about.carry(12.0);
    for face in FACES {
        about.lie(face, 5.0);
        about.carry(1.0);
    }
    about.lie([0.1, 0.1, 1.0], BEFORE_S - 48.0);
    let path = folder.join("right-shank.csv");
    let visit = motion_csv::read(std::fs::File::open(&path).unwrap()).unwrap();
    about.samples.extend(visit.iter().map(|sample| {
        let (accel_m_s2, gyro_rad_s) = CHEAP.read(sample.accel_m_s2, sample.gyro_rad_s);
        Sample { time_s: sample.time_s + BEFORE_S, accel_m_s2, gyro_rad_s, ..*sample }
    }));
    about.write(path);
    let events = std::fs::read_to_string(folder.join("events.csv")).unwrap();
    std::fs::write(folder.join("events.csv"), later(&events)).unwrap();
    folder
}

/// Events that begin so much later.
fn later(events: &str) -> String {
    let mut lines = events.lines();
    let mut all = lines.next().unwrap().to_owned();
    for line in lines {
        let (onset, rest) = line.split_once(',').unwrap();
        all += &format!("\n{},{rest}", onset.parse::<f64>().unwrap() + BEFORE_S);
    }
    all + "\n"
}

fn done(state: &Value) -> usize {
    let rests = state["calibration"]["rests"].as_array();
    rests.map_or(0, |all| all.iter().filter(|rest| rest["done"] == true).count())
}

fn analysed(folder: &Path, calibration: &Path) -> Vec<Value> {
    let file = |name: &str| folder.join(name).display().to_string();
    let (shank, events) = (file("right-shank.csv"), file("events.csv"));
    let calibration = calibration.display().to_string();
    let fixed = ["analyse", &shank, "--events", &events, "--side", "right", "--json"];
    let more = ["--test", "prone-hip-rotation", "--calibration", &calibration];
    let answer = run(fixed.iter().chain(&more)).done().json();
    answer["repetitions"].as_array().unwrap().clone()
}

#[test]
fn a_calibration_by_the_page_is_kept_and_counts_in_the_visit() {
    let scratch = Scratch::new();
    let folder = recording(&scratch);
    let data = scratch.at("data");
    let source = format!("replay:{}", folder.display());
    let mut daemon = Daemon::start(&data, &source, &["--speed", "8"]);
    let mut live = daemon.live();
    let ask = |order: &Value| daemon.post("/api/calibration", order);
    let finish = json!({"order": "finish"});

    let begin = json!({"order": "calibrate", "sensor": "right-shank", "temperature_c": 23});
    assert_eq!(ask(&begin).status, 202);
    assert!(ask(&begin).problem(409).contains("stop that first"));
    let state = live.first(|state| done(state) > 0);
    assert_eq!(state["calibration"]["sensor"], "right-shank");
    // A set that lacks sides is refused with the reason, and goes on.
    let refused = ask(&finish).problem(409);
    assert!(refused.contains("never seen on top"), "{refused}");
    live.first(|state| state["calibration"]["reason"] == refused.as_str());
    // A pedal that is pressed meanwhile begins nothing.
    assert_eq!(daemon.post("/api/mark", &json!({"kind": "next"})).status, 202);
    live.first(|state| state["calibration"]["complete"] == true);
    assert_eq!(ask(&finish).status, 202);
    let state = live.first(|state| state["calibration"]["state"] == "kept");
    assert!(state["calibration"]["result"][0].as_str().unwrap().contains("from 6 rests"));
    assert!(state["sensors"][0]["calibrated_at"].is_string());

    // Once the visit has begun, sensors stay as they are.
    live.first(|state| state["phase"] == "baseline");
    let refused = ask(&begin).problem(409);
    assert!(refused.contains("before the first neutral hold"), "{refused}");
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let id = daemon.get("/api/state").json()["visit"]["id"].as_str().unwrap().to_owned();
    let stored = daemon.get(&format!("/api/visits/{id}")).json();
    assert_eq!(daemon.stop().code(), 0);

    let known = run(["sensors", "list", "--json", "--data-dir", &data.display().to_string()]);
    let known = known.done().json();
    assert_eq!((&known[0]["temperature_c"], &known[0]["calibrations"]), (&json!(23.0), &json!(1)));
    assert_eq!(database::calibrated_roles(&data), ["right-shank"]);
    let numbers = database::newest_calibration(&data);
    let found: Value = serde_json::from_str(&numbers).unwrap();
    for axis in 0..3 {
        let error = found["accel_offset_m_s2"][axis].as_f64().unwrap();
        assert!((error - CHEAP.accel_offset_m_s2[axis]).abs() < 0.01, "{found}");
    }

    // And it is what the final values were corrected with.
    let file = scratch.file("calibration.json", numbers);
    let ours = stored["repetitions"].as_array().unwrap();
    let theirs = analysed(&folder, &file);
    assert_eq!((ours.len(), theirs.len()), (4, 4));
    for (one, other) in ours.iter().zip(&theirs) {
        assert!((number(one, "end_range_deg") - number(other, "end_range_deg")).abs() < 1e-3);
    }
}
