//! `endarc sensors calibrate` and `list`.

use endarc_protocol::sample::Sample;
use endarc_tests::truth::number;
use endarc_tests::{Scratch, run};
use serde_json::Value;

use super::rests::{self, CHEAP, FACES, Recording};

fn list(data: &str) -> Vec<Value> {
    let answer = run(["sensors", "list", "--json", "--data-dir", data]).done().json();
    answer.as_array().unwrap().clone()
}

#[test]
fn a_careless_hand_gives_the_sensors_true_errors_and_they_are_kept() {
    let scratch = Scratch::new();
    let data = scratch.at("data").display().to_string();
    for (n, seed) in [3, 4].into_iter().enumerate() {
        let file = rests::six(CHEAP, 5.0, seed).write(scratch.at("rests.csv"));
        let file = file.display().to_string();
        let found = run([
            "sensors",
            "calibrate",
            "AA:01",
            "--from",
            &file,
            "--temperature-c",
            "23",
            "--json",
            "--data-dir",
            &data,
        ])
        .done()
        .json();
        for axis in 0..3 {
            let value = |key: &str| found[key][axis].as_f64().unwrap();
            let offset_error = value("accel_offset_m_s2") - CHEAP.accel_offset_m_s2[axis];
            assert!(offset_error.abs() < 0.01, "offset {axis}: {offset_error}");
            let scale = found["accel_matrix"][axis][axis].as_f64().unwrap();
            assert!((scale * CHEAP.gain[axis][axis] - 1.0).abs() < 1e-3, "scale {axis}: {scale}");
            let rate_error = value("gyro_offset_rad_s") - CHEAP.gyro_offset_rad_s[axis];
            assert!(rate_error.abs() < 2e-4, "rate {axis}: {rate_error}");
            println!("axis {axis}: offset {offset_error:+.4} m/s², rate {rate_error:+.1e} rad/s");
        }
        let known = list(&data);
        assert_eq!(known.len(), 1);
        assert_eq!(known[0]["address"], "AA:01");
        assert_eq!(known[0]["calibrations"], n + 1, "the history is kept");
        assert_eq!(known[0]["temperature_c"], 23.0);
        assert!((0.0..1.0).contains(&number(&known[0], "age_days")));
    }
}

/// Refuses a recording, and sees that nothing is kept.
fn refused(samples: &[Sample], words: &str) {
    let scratch = Scratch::new();
    let data = scratch.at("data").display().to_string();
    let file = scratch.at("rests.csv");
    rests::write(&file, samples);
    let file = file.display().to_string();
    let ended = run(["sensors", "calibrate", "AA:01", "--from", &file, "--data-dir", &data]);
    assert_eq!(ended.code(), 1, "{words}");
    assert_eq!(ended.stdout, "");
    assert!(ended.stderr.contains(words) && ended.stderr.contains("rests.csv"), "{}", ended.stderr);
    assert!(!scratch.at("data").exists(), "nothing is kept");
}

#[test]
fn a_bad_set_is_refused_with_the_reason_and_nothing_is_kept() {
    let good = rests::six(CHEAP, 4.0, 9).samples;
    refused(&good[..3600], "never seen on top: z down");

    let mut twice = Recording::new(CHEAP, 5);
    for face in [FACES[0], FACES[0], FACES[1], FACES[2], FACES[3], FACES[4]] {
        twice.carry(1.0);
        twice.lie(face, 5.0);
    }
    refused(&twice.samples, "z down (but more than once: x up)");

    let mut short = Recording::new(CHEAP, 6);
    for (n, face) in FACES.into_iter().enumerate() {
        short.lie(face, if n == 3 { 2.0 } else { 5.0 });
    }
    refused(&short.samples, "the rest with y down on top lasted");

    let mut held = good.clone();
    for sample in held.iter_mut().filter(|s| (23.0..28.0).contains(&s.time_s)) {
        sample.gyro_rad_s[1] += 0.06 * (20.0 * sample.time_s).sin();
    }
    refused(&held, "the sensor moved while y down was on top");

    let in_g: Vec<Sample> = good
        .iter()
        .map(|s| Sample { accel_m_s2: s.accel_m_s2.map(|value| value / 9.81), ..*s })
        .collect();
    refused(&in_g, "not g");

    let mut dead = CHEAP;
    dead.gain[2][2] = 0.9;
    refused(&rests::six(dead, 2.0, 8).samples, "which no working sensor has");
}

#[test]
fn a_source_leads_through_the_rests() {
    let scratch = Scratch::new();
    let (folder, data) = (scratch.at("rests"), scratch.at("data").display().to_string());
    std::fs::create_dir(&folder).unwrap();
    rests::six(CHEAP, 5.0, 12).write(folder.join("left-shank.csv"));
    std::fs::write(folder.join("events.csv"), "onset,duration,trial_type\n0,1,neutral\n").unwrap();
    let source = format!("replay:{}", folder.display());
    let lead = |sensor: &str| {
        run(["sensors", "calibrate", sensor, "--source", &source, "--fast", "--data-dir", &data])
    };
    let done = lead("replay:left-shank.csv").done();
    assert!(done.stderr.contains("x up: still, leave it alone"), "{}", done.stderr);
    assert!(done.stderr.contains("(6 of 6; all sides are done)"), "{}", done.stderr);
    assert!(done.stdout.contains("is calibrated, from 6 rests"), "{}", done.stdout);
    assert_eq!(list(&data)[0]["address"], "replay:left-shank.csv");
    let unknown = lead("AA:99");
    assert_eq!(unknown.code(), 1);
    assert!(unknown.stderr.contains("those that do: replay:left-shank.csv"), "{}", unknown.stderr);
}
