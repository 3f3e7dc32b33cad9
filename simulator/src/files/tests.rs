//! Files of a session, read back.

use std::collections::BTreeMap;

use endarc_protocol::profile::REFERENCE_TOML;

use super::*;
use crate::Scenario;

const SHORT: &str = r#"
script = [{ baseline = { side = "left", repetitions = 1 } }]
[[sensors]]
role = "left-shank"
name = "left, old"
[[sensors]]
role = "pelvis"
"#;

fn session() -> Session {
    Session::new(&Scenario::parse("files", SHORT).unwrap())
}

fn by_name(session: &Session, frames: Option<&Profile>) -> BTreeMap<String, Vec<u8>> {
    files(session, frames).into_iter().collect()
}

fn text(files: &BTreeMap<String, Vec<u8>>, name: &str) -> String {
    String::from_utf8(files[name].clone()).unwrap()
}

#[test]
fn the_folder_holds_each_sensor_the_events_and_the_truth() {
    let files = by_name(&session(), None);
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    assert_eq!(names, ["events.csv", "left-shank.csv", "pelvis.csv", "truth.json"]);
    let samples = motion_csv::read(files["left-shank.csv"].as_slice()).unwrap();
    let expected = session().duration_s() * 100.0;
    assert!((samples.len() as f64 - expected).abs() < 7.0);
    let events = events_csv::read(files["events.csv"].as_slice()).unwrap();
    assert_eq!(events.len(), 1);
}

#[test]
fn the_truth_has_the_recordings_keys() {
    let files = by_name(&session(), None);
    let truth: serde_json::Value = serde_json::from_slice(&files["truth.json"]).unwrap();
    assert_eq!(truth["side"], "left");
    assert_eq!(truth["rate_hz"], 100.0);
    let one = truth["repetitions"][0].as_object().unwrap();
    let mut keys: Vec<&str> = one.keys().map(String::as_str).collect();
    keys.sort_unstable();
    assert_eq!(
        keys,
        [
            "direction",
            "end_range_deg",
            "hold_s",
            "hold_start_s",
            "knee_flexion_deg",
            "pelvis_roll_deg",
            "phase",
            "side",
            "start_s",
            "style",
        ]
    );
    assert_eq!((&one["phase"], &one["style"]), (&"baseline".into(), &"held".into()));
}

#[test]
fn the_same_scenario_gives_the_same_bytes_and_another_seed_others() {
    let profile = Profile::reference();
    let scenario = Scenario::parse("files", SHORT).unwrap();
    let with_seed =
        |seed| by_name(&Session::new(&scenario.clone().with_seed(seed)), Some(&profile));
    assert_eq!(with_seed(1), with_seed(1));
    for (name, bytes) in with_seed(2) {
        assert_eq!(bytes == with_seed(1)[&name], name == "sensors.csv", "{name}");
    }
}

#[test]
fn frames_are_a_line_each_on_the_sensors_clock() {
    let profile = Profile::reference();
    let files = by_name(&session(), Some(&profile));
    assert_eq!(
        text(&files, "sensors.csv"),
        "frames,role,name,address,profile\n\
         0.frames,left-shank,\"left, old\",02:00:00:00:00:01,reference\n\
         1.frames,pelvis,IMU 2,02:00:00:00:00:02,reference\n"
    );
    let frames = text(&files, "0.frames");
    let mut last_ms = -1;
    for line in frames.lines() {
        let (ms, hex) = line.split_once(' ').unwrap();
        let ms: i64 = ms.parse().unwrap();
        assert!(ms > last_ms, "{line}");
        last_ms = ms;
        let bytes: Vec<u8> = (0..hex.len() / 2)
            .map(|n| u8::from_str_radix(&hex[2 * n..2 * n + 2], 16).unwrap())
            .collect();
        assert_eq!(profile.streams()[0].decode(&bytes).unwrap().number(), 5);
    }
    assert!((last_ms as f64 / 1e3 - session().duration_s()).abs() < 0.1);
}

/// The reference profile with accelerometer and gyroscope in characteristics of their own.
fn split() -> Profile {
    let (head, rest) = REFERENCE_TOML.split_once("[stream.gyro]").unwrap();
    let (gyro, rest) = rest.split_once("[[start]]").unwrap();
    let (_, stream) = head.split_once("[[stream]]").unwrap();
    let (stream, _) = stream.split_once("[stream.accel]").unwrap();
    let second = stream.replace("f35ed832", "f35ed833");
    let text = format!("{head}\n[[stream]]{second}\n[stream.gyro]{gyro}\n[[start]]{rest}");
    Profile::parse("split", &text).unwrap()
}

#[test]
fn several_characteristics_are_named_in_each_line() {
    let profile = split();
    let files = by_name(&session(), Some(&profile));
    let mut counts = BTreeMap::new();
    for line in text(&files, "1.frames").lines() {
        let parts: Vec<&str> = line.split(' ').collect();
        assert_eq!(parts.len(), 3);
        *counts.entry(parts[1].to_owned()).or_insert(0) += 1;
    }
    let expected: Vec<String> =
        profile.streams().iter().map(|stream| stream.characteristic().to_string()).collect();
    assert_eq!(counts.keys().cloned().collect::<Vec<_>>(), expected);
    assert_eq!(counts[&expected[0]], counts[&expected[1]]);
}
