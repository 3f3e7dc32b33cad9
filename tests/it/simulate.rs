//! `endarc simulate`: the same scenario gives the same bytes, and the truth in them can be found.

use std::fs;
use std::path::{Path, PathBuf};

use endarc_tests::scratch::names;
use endarc_tests::truth::{self, max_abs, mean_abs};
use endarc_tests::{Scratch, run, scenario};

const FILES: [&str; 5] =
    ["events.csv", "left-shank.csv", "pelvis.csv", "right-shank.csv", "truth.json"];

#[test]
fn the_seed_and_nothing_else_decides() {
    let scratch = Scratch::new();
    let one = simulate(&scratch, "one", &scenario::two_legs(3), &[]);
    let same = simulate(&scratch, "same", &scenario::two_legs(3), &[]);
    let other = simulate(&scratch, "other", &scenario::two_legs(4), &[]);
    assert_eq!(names(&one), FILES);
    for name in FILES {
        let bytes = |folder: &Path| fs::read(folder.join(name)).unwrap();
        assert!(bytes(&one) == bytes(&same), "{name} differs");
        assert!(bytes(&one) != bytes(&other), "{name} is the same for another seed");
    }
}

#[test]
fn frames_are_one_line_per_notification() {
    let scratch = Scratch::new();
    let folder = simulate(&scratch, "out", &scenario::two_legs(3), &["--frames", "reference"]);
    let mut expected = [&["0.frames", "1.frames", "2.frames", "sensors.csv"], &FILES[..]].concat();
    expected.sort_unstable();
    assert_eq!(names(&folder), expected);
    for sensor in ["0", "1", "2"] {
        let text = fs::read_to_string(folder.join(format!("{sensor}.frames"))).unwrap();
        let mut previous_ms = 0;
        for line in text.lines() {
            let (ms, hex) = line.split_once(' ').expect("MS HEX");
            let ms: u64 = ms.parse().expect("whole milliseconds");
            assert!(ms >= previous_ms, "{line} comes after {previous_ms} ms");
            previous_ms = ms;
            assert!(hex.len() % 2 == 0 && hex.bytes().all(|b| b.is_ascii_hexdigit()), "{line}");
        }
        // About 160 s at 100 Hz, 5 samples in a notification.
        assert!(text.lines().count() > 3000, "{}", text.lines().count());
    }
    let sensors = fs::read_to_string(folder.join("sensors.csv")).unwrap();
    for role in ["left-shank", "right-shank", "pelvis"] {
        assert_eq!(sensors.matches(role).count(), 1, "{sensors}");
    }
}

#[test]
fn the_analysis_finds_the_truth_of_the_shipped_visit() {
    let scratch = Scratch::new();
    let folder = scratch.at("clinic");
    let output = folder.display().to_string();
    run(["simulate", "clinic", "--output", &output]).done();
    assert_eq!(names(&folder), FILES);
    let truth = truth::read(&folder.join("truth.json"));
    for side in ["left", "right"] {
        let mut own = truth.clone();
        own.retain(|one| one.side == side);
        let answer = analyse(&folder, side);
        let score = truth::score(answer["repetitions"].as_array().unwrap(), &own);
        score.assert_complete(side);
        let errors = score.errors_deg();
        println!("{side}: {} repetitions, mean error {:.3}°", errors.len(), mean_abs(&errors));
        assert!(max_abs(&errors) <= 1.0, "{side}: {errors:?}");
    }
}

/// The folder made from a scenario's text.
fn simulate(scratch: &Scratch, name: &str, scenario: &str, options: &[&str]) -> PathBuf {
    let file = scratch.file("scenario.toml", scenario).display().to_string();
    let folder = scratch.at(name);
    let output = folder.display().to_string();
    let fixed = ["simulate", &file, "--output", &output];
    run(fixed.iter().chain(options)).done();
    folder
}

fn analyse(folder: &Path, side: &str) -> serde_json::Value {
    let file = |name: &str| folder.join(name).display().to_string();
    let (shank, events) = (file(&format!("{side}-shank.csv")), file("events.csv"));
    let pelvis = file("pelvis.csv");
    let arguments = ["analyse", &shank, "--events", &events, "--pelvis", &pelvis];
    let fixed = ["--side", side, "--test", "prone-hip-rotation", "--json"];
    run(arguments.iter().chain(&fixed)).done().json()
}
