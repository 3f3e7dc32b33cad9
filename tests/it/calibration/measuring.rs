//! A calibrated sensor measures better and says so; what is kept is as it came.

use std::path::Path;

use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;
use endarc_tests::truth::{self, max_abs, mean_abs, number};
use endarc_tests::{Daemon, Deadline, Scratch, database, run, scenario};
use serde_json::Value;

use super::rests::{self, CHEAP};

/// A simulated visit whose shanks' sensors have the errors of [`CHEAP`] beside their own.
fn spoilt(scratch: &Scratch) -> std::path::PathBuf {
    let file = scratch.file("two-legs.toml", scenario::two_legs(11));
    let folder = scratch.at("visit");
    let to = folder.display().to_string();
    run(["simulate", &file.display().to_string(), "--output", &to]).done();
    for side in ["left", "right"] {
        let path = folder.join(format!("{side}-shank.csv"));
        let samples = motion_csv::read(std::fs::File::open(&path).unwrap()).unwrap();
        let spoilt: Vec<Sample> = samples
            .iter()
            .map(|sample| {
                let (accel_m_s2, gyro_rad_s) = CHEAP.read(sample.accel_m_s2, sample.gyro_rad_s);
                Sample { accel_m_s2, gyro_rad_s, ..*sample }
            })
            .collect();
        rests::write(&path, &spoilt);
    }
    folder
}

fn analysed(folder: &Path, options: &[&str]) -> Vec<Value> {
    let file = |name: &str| folder.join(name).display().to_string();
    let (shank, events) = (file("right-shank.csv"), file("events.csv"));
    let fixed = ["analyse", &shank, "--events", &events, "--side", "right", "--json"];
    let test = ["--test", "prone-hip-rotation"];
    let pelvis = ["--pelvis", &file("pelvis.csv")];
    let answer = run(fixed.iter().chain(&test).chain(&pelvis).chain(options)).done().json();
    answer["repetitions"].as_array().unwrap().clone()
}

fn mean_uncertainty(repetitions: &[Value]) -> f64 {
    let sum: f64 = repetitions.iter().map(|one| number(one, "uncertainty_deg")).sum();
    sum / repetitions.len() as f64
}

/// Calibrates a sensor from careless rests and gives the file with the answer.
fn calibrate(scratch: &Scratch, data: &str, address: &str) -> String {
    let rests = rests::six(CHEAP, 5.0, 21).write(scratch.at("rests.csv")).display().to_string();
    let calibrate = ["sensors", "calibrate", address, "--from", &rests, "--json"];
    let answer = run(calibrate.iter().chain(&["--data-dir", data])).done().stdout;
    scratch.file("calibration.json", answer).display().to_string()
}

#[test]
fn a_calibration_makes_values_better_and_more_certain() {
    let scratch = Scratch::new();
    let folder = spoilt(&scratch);
    let data = scratch.at("data").display().to_string();
    let file = calibrate(&scratch, &data, "AA:01");
    let mut truth = truth::read(&folder.join("truth.json"));
    truth.retain(|one| one.side == "right");
    for live in [false, true] {
        let options: &[&str] = if live { &["--live"] } else { &[] };
        let without = analysed(&folder, options);
        let with = analysed(&folder, &[options, &["--calibration", &file]].concat());
        let error = |repetitions: &[Value]| {
            let score = truth::score(repetitions, &truth);
            score.assert_complete("spoilt visit");
            score.errors_deg()
        };
        let (before, after) = (error(&without), error(&with));
        let (before_sd, after_sd) = (mean_uncertainty(&without), mean_uncertainty(&with));
        println!(
            "live {live}: error {:.2}° → {:.2}°, uncertainty {before_sd:.2}° → {after_sd:.2}°",
            mean_abs(&before),
            mean_abs(&after)
        );
        assert!(mean_abs(&after) < mean_abs(&before), "{before:?} → {after:?}");
        assert!(max_abs(&after) < 1.0, "{after:?}");
        assert!(after_sd < before_sd);
    }
}

#[test]
fn a_visit_is_measured_with_the_calibration_that_is_kept() {
    let scratch = Scratch::new();
    let folder = spoilt(&scratch);
    let data = scratch.at("data");
    let file = calibrate(&scratch, &data.display().to_string(), "replay:right-shank.csv");
    let source = format!("replay:{}", folder.display());
    let mut daemon = Daemon::start(&data, &source, &["--fast"]);
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let state = daemon.get("/api/state").json();
    let id = state["visit"]["id"].as_str().unwrap().to_owned();
    let stored = daemon.get(&format!("/api/visits/{id}")).json();
    assert_eq!(daemon.stop().code(), 0);

    let of_right = |repetitions: &Value| {
        let mut all = repetitions.as_array().unwrap().clone();
        all.retain(|one| one["side"] == "right" && one["struck_out"].is_null());
        all
    };
    let same = |ours: &[Value], theirs: &[Value], what: &str| {
        assert!(!ours.is_empty());
        assert_eq!(ours.len(), theirs.len(), "{what}");
        for (one, other) in ours.iter().zip(theirs) {
            // The minutes between calibration and visit age it by nothing that could be seen.
            for key in ["end_range_deg", "uncertainty_deg"] {
                assert!(
                    (number(one, key) - number(other, key)).abs() < 1e-3,
                    "{what}: {one} {other}"
                );
            }
        }
    };
    let calibrated = ["--calibration", file.as_str()];
    same(&of_right(&stored["repetitions"]), &analysed(&folder, &calibrated), "final");
    let live = analysed(&folder, &["--live", "--calibration", &file]);
    let mut kept = database::live_values(&data, "right");
    kept.sort_by(|a, b| number(a, "end_range_at_s").total_cmp(&number(b, "end_range_at_s")));
    same(&kept, &live, "live");

    let corrected = database::calibrated_roles(&data);
    assert_eq!(corrected, ["right-shank"], "it is stored with the visit's sensor");
}
