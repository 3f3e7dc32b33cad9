//! `endarc analyse` on recordings whose truth is known; they come from a generator that shares no
//! code with the project (see `data/mobilisation/README.md` in the reference folder).

use std::fs;
use std::path::{Path, PathBuf};

use endarc_tests::truth::{self, max_abs, mean_abs, number};
use endarc_tests::{Process, endarc, reference};

/// What `endarc analyse` may say about a repetition: the list in its documentation, and no more.
const FLAGS: [&str; 10] = [
    "touched",
    "knee-away-from-90",
    "fast",
    "pelvis-moved",
    "pelvis-not-seen",
    "pelvis-did-not-tilt",
    "strap-moved",
    "gap",
    "saturated",
    "quick-alignment",
];

/// How far end ranges may be off, degrees.
struct Limits {
    mean_deg: f64,
    max_deg: f64,
}

#[test]
fn final_end_ranges_are_the_true_ones() {
    check(&[], &Limits { mean_deg: 0.15, max_deg: 0.5 });
}

#[test]
fn live_end_ranges_are_near_the_true_ones() {
    check(&["--live"], &Limits { mean_deg: 0.4, max_deg: 1.0 });
}

fn check(options: &[&str], limits: &Limits) {
    let Some(reference) = reference() else { return };
    let sets = folders(&reference.join("data/mobilisation"));
    assert!(!sets.is_empty(), "there are no recordings");
    println!("{:<24} {:>3} {:>8} {:>8}", "set", "n", "mean deg", "max deg");
    for set in sets {
        let name = set.file_name().unwrap().to_string_lossy().into_owned();
        let truth = truth::read(&set.join("truth.json"));
        let answer = analyse(&set, &truth[0].side, options);
        let measured = answer["repetitions"].as_array().unwrap();
        let score = truth::score(measured, &truth);
        score.assert_complete(&name);
        let errors = score.errors_deg();
        let (mean, max) = (mean_abs(&errors), max_abs(&errors));
        println!("{name:<24} {:>3} {mean:>8.3} {max:>8.3}", errors.len());
        assert!(mean <= limits.mean_deg, "{name}: mean error {mean:.3}°");
        assert!(max <= limits.max_deg, "{name}: greatest error {max:.3}°");
        for repetition in measured {
            assert!(number(repetition, "uncertainty_deg") > 0.0, "{name}: {repetition}");
            for flag in repetition["flags"].as_array().unwrap() {
                assert!(FLAGS.contains(&flag.as_str().unwrap()), "{name}: {flag}");
            }
        }
    }
}

fn folders(around: &Path) -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> =
        fs::read_dir(around).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.retain(|folder| folder.join("truth.json").is_file());
    folders.sort();
    folders
}

fn analyse(set: &Path, side: &str, options: &[&str]) -> serde_json::Value {
    let pelvis = set.join("pelvis.csv");
    let mut command = endarc(["analyse"]);
    command.arg(set.join("shank.csv")).arg("--events").arg(set.join("events.csv"));
    command.args(["--side", side, "--test", "prone-hip-rotation", "--json"]).args(options);
    if pelvis.is_file() {
        command.arg("--pelvis").arg(pelvis);
    }
    Process::start(command).end().done().json()
}
