//! `--format bids`: a Motion-BIDS dataset, held against `bids-validator-deno` (PyPI), the validator
//! of the standard's own schema.

use std::fs;
use std::path::Path;

use endarc_tests::Scratch;
use endarc_tests::python::{beside, python_with, said};

use super::recorded::{assert_checksums, everything, export, files, measured};

/// What the validator says, of every row.
fn validate(folder: &Path) -> Option<(bool, String)> {
    let python = python_with("bids_validator_deno")?;
    let output = beside(&python, "bids-validator-deno")
        .arg(folder)
        .args(["--ignoreWarnings", "--max-rows", "-1"])
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    Some((output.status.success(), said(&output)))
}

#[test]
fn raw_and_derived_pass_their_validator_and_a_broken_copy_does_not() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "bids"]);
    assert_checksums(&folder);
    let person = measured()["visit"]["person"].as_str().unwrap();
    assert!(!everything(&folder).contains(person), "codes are drawn");
    let Some((valid, said)) = validate(&folder) else { return };
    assert!(valid, "{said}");
    let (valid, said) = validate(&folder.join("derivatives/endarc")).unwrap();
    assert!(valid, "{said}");

    // A column that the table of columns does not know.
    let motion = find(&folder, "leftshank_motion.tsv");
    let text = fs::read_to_string(&motion).unwrap();
    let wider: String = text.lines().map(|line| format!("{line}\t1\n")).collect();
    fs::write(&motion, wider).unwrap();
    let (valid, said) = validate(&folder).unwrap();
    assert!(!valid, "{said}");
}

/// What the validator does not look at.
#[test]
fn counts_order_and_numbers_are_right() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "bids"]);
    for name in files(&folder).iter().filter(|name| name.ends_with("_motion.tsv")) {
        let stem = folder.join(name.trim_end_matches("_motion.tsv")).display().to_string();
        let read = |end: &str| fs::read_to_string(format!("{stem}_{end}")).unwrap();
        let channels = read("channels.tsv");
        let kinds: Vec<&str> =
            channels.lines().skip(1).map(|line| line.split('\t').nth(2).unwrap()).collect();
        let sidecar: serde_json::Value = serde_json::from_str(&read("motion.json")).unwrap();
        assert_eq!(sidecar["MotionChannelCount"], kinds.len());
        for (key, kind) in [
            ("ACCELChannelCount", "ACCEL"),
            ("GYROChannelCount", "GYRO"),
            ("ORNTChannelCount", "ORNT"),
            ("JNTANGChannelCount", "JNTANG"),
            ("LATENCYChannelCount", "LATENCY"),
            ("MiscChannelCount", "MISC"),
        ] {
            let count = kinds.iter().filter(|own| **own == kind).count();
            assert_eq!(sidecar[key], count, "{stem} {key}");
        }
        let mut last = f64::NEG_INFINITY;
        for line in read("motion.tsv").lines() {
            let cells: Vec<&str> = line.split('\t').collect();
            assert_eq!(cells.len(), kinds.len());
            assert!(
                cells.iter().all(|cell| *cell == "n/a" || cell.parse::<f64>().is_ok()),
                "{line}"
            );
            let time: f64 = cells[0].parse().unwrap();
            assert!(time > last, "{line}");
            last = time;
        }
    }
    let events = fs::read_to_string(find(&folder, "_events.tsv")).unwrap();
    let onsets: Vec<f64> = events
        .lines()
        .skip(1)
        .map(|line| line.split('\t').next().unwrap().parse().unwrap())
        .collect();
    assert!(onsets.is_sorted());
    let told = measured()["repetitions"].as_array().unwrap().len();
    assert_eq!(events.lines().skip(1).filter(|line| line.contains("\trepetition\t")).count(), told);
}

/// The derived angle at each end range is the repetition's value, but for the pelvis' roll that is
/// still in it.
#[test]
fn derived_angles_agree_with_the_repetitions() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "bids"]);
    let text = fs::read_to_string(find(&folder, "rightshank_acq-angles_motion.tsv")).unwrap();
    let rows: Vec<(f64, f64)> = text
        .lines()
        .map(|line| {
            let cells: Vec<f64> =
                line.split('\t').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
            (cells[0], cells[6])
        })
        .collect();
    let mut held = 0;
    for one in measured()["repetitions"].as_array().unwrap() {
        if one["side"] != "right" {
            continue;
        }
        let number = |key: &str| one[key].as_f64().unwrap();
        let at = rows.iter().find(|(time_s, _)| *time_s >= number("end_range_at_s")).unwrap();
        let sign = if one["direction"] == "external" { -1.0 } else { 1.0 };
        let angle_deg = sign * at.1 - number("pelvis_roll_deg");
        let difference = angle_deg - number("end_range_deg");
        assert!(difference.abs() < 1.0, "{difference}° at {} s", at.0);
        held += 1;
    }
    assert!(held >= 6);
}

fn find(folder: &Path, end: &str) -> std::path::PathBuf {
    let name = files(folder).into_iter().find(|name| name.ends_with(end));
    folder.join(name.unwrap_or_else(|| panic!("no file ends in {end}")))
}
