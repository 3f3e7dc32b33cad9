//! `endarc tables level` and `list`.

use endarc_tests::truth::number;
use endarc_tests::{Scratch, run};

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
