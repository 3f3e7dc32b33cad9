//! Out and in again: the same repetitions. And recordings from elsewhere.

use std::path::Path;

use endarc_tests::{Scratch, database, run, scenario};
use rusqlite::Connection;
use serde_json::Value;

use super::recorded::{copy, export, measured, try_export};

/// Imports a folder into a data folder of this name; answers what it tells.
fn import(scratch: &Scratch, from: &Path, into: &str, arguments: &[&str]) -> Value {
    let (from, data) = (from.display().to_string(), scratch.at(into).display().to_string());
    let all = ["import", &from, "--data-dir", &data, "--json"];
    run(all.iter().chain(arguments)).done().json()
}

/// The final values of a data folder's only visit, by time.
fn finals(data: &Path) -> Vec<(String, f64, f64, f64)> {
    let connection = Connection::open(database::file(data)).unwrap();
    let mut query = connection
        .prepare(
            "SELECT side || ' ' || phase || ' ' || direction || ' ' || number || ' ' || flags,
                    value.end_range_deg, value.uncertainty_deg, value.end_range_at_s
             FROM repetition JOIN repetition_value value ON value.repetition = repetition.id
             WHERE kind = 'final' AND struck_out IS NULL ORDER BY value.end_range_at_s",
        )
        .unwrap();
    let rows = query
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .unwrap();
    rows.map(Result::unwrap).collect()
}

fn assert_same(one: &Path, other: &Path, tolerance: f64) {
    let (one, other) = (finals(one), finals(other));
    assert_eq!(one.len(), other.len());
    assert!(!one.is_empty());
    for (a, b) in one.iter().zip(&other) {
        assert_eq!(a.0, b.0);
        for (a, b) in [(a.1, b.1), (a.2, b.2), (a.3, b.3)] {
            assert!((a - b).abs() <= tolerance, "{a} and {b}");
        }
    }
}

#[test]
fn what_left_as_bids_comes_back_the_same() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "bids"]);
    let told = import(&scratch, &folder, "in", &[]);
    assert_eq!(
        told["visits"][0]["repetitions"],
        measured()["repetitions"].as_array().unwrap().len()
    );
    assert_same(super::recorded::data(), &scratch.at("in"), 1e-9);
}

#[test]
fn what_left_as_tables_comes_back_the_same() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "csv", "--raw", "--keep-codes"]);
    let told = import(&scratch, &folder, "in", &[]);
    assert_eq!(told["visits"][0]["person"], measured()["visit"]["person"]);
    assert_same(super::recorded::data(), &scratch.at("in"), 1e-9);
    let without = export(&scratch, "without", &["--format", "csv"]);
    let (without, data) = (without.display().to_string(), scratch.at("no").display().to_string());
    let ended = run(["import", &without, "--data-dir", &data]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("export with --raw"), "{}", ended.stderr);
}

/// Calibration, a measured table and shifted dates go along; the same comes out.
#[test]
fn calibration_and_table_go_along() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    conditions(&data);
    run(["reanalyse", "--data-dir", &data.display().to_string()]).done();
    for (name, arguments) in [
        ("csv", &["--format", "csv", "--raw", "--shift-dates"][..]),
        ("bids", &["--format", "bids"]),
    ] {
        try_export(&data, &scratch, name, arguments).done();
        import(&scratch, &scratch.at(name), &format!("{name}-in"), &[]);
        // Times leave to the second, so a calibration is up to a second older.
        assert_same(&data, &scratch.at(&format!("{name}-in")), 1e-6);
    }
    // And they matter: the visit as it was recorded is another.
    let (with, without) = (finals(&data), finals(super::recorded::data()));
    assert!(with.iter().zip(&without).any(|(a, b)| (a.1 - b.1).abs() > 0.5));
}

/// Gives the visit a calibrated sensor and a table that tilts.
fn conditions(data: &Path) {
    let address = &database::addresses(data)["right-shank"];
    let numbers = serde_json::json!({
        "sensor": address, "calibrated_at": "2026-11-01T10:00:00Z", "temperature_c": null,
        "accel_offset_m_s2": [0.05, -0.02, 0.03], "accel_offset_sd_m_s2": [0.01, 0.01, 0.01],
        "accel_offset_covariance": [[1e-4, 0.0, 0.0], [0.0, 1e-4, 0.0], [0.0, 0.0, 1e-4]],
        "accel_matrix": [[1.001, 0.0, 0.0], [0.0, 0.999, 0.0], [0.0, 0.0, 1.0]],
        "accel_matrix_sd": [[1e-3, 5e-3, 5e-3], [5e-3, 1e-3, 5e-3], [5e-3, 5e-3, 1e-3]],
        "gyro_offset_rad_s": [0.001, 0.0, -0.001], "gyro_offset_sd_rad_s": [1e-4, 1e-4, 1e-4],
        "residual_m_s2": 0.01, "gravity_m_s2": 9.81, "rests": 6,
    });
    let connection = Connection::open(database::file(data)).unwrap();
    connection
        .execute_batch(&format!(
            "INSERT INTO calibration (sensor, calibrated_at, numbers)
             SELECT id, '2026-11-01T10:00:00Z', '{numbers}' FROM sensor WHERE address = '{address}';
             UPDATE visit_sensor SET calibration = 1 WHERE role = 'right-shank';
             INSERT INTO treatment_table (id, name) VALUES (1, 'by the window');
             INSERT INTO table_level VALUES
                 (1, 1, '2026-11-01T10:00:00Z', 'turned', 1.5, 0.1, -0.4, 0.1);
             UPDATE visit SET table_level = 1;"
        ))
        .unwrap();
}

#[test]
fn a_recording_from_elsewhere_is_analysed_here() {
    let scratch = Scratch::new();
    let scenario = scratch.file("two.toml", scenario::two_legs(5));
    let (scenario, output) =
        (scenario.display().to_string(), scratch.at("made").display().to_string());
    run(["simulate", &scenario, "--output", &output]).done();
    let truth = endarc_tests::truth::read(&scratch.at("made/truth.json"));
    let test = ["--test", "prone-hip-rotation", "--person", "P-7"];
    let told = import(&scratch, &scratch.at("made"), "in", &test);
    assert_eq!(told["visits"][0]["person"], "P-7");
    assert_eq!(told["visits"][0]["repetitions"], truth.len());
    let ended = run(["import", &output, "--data-dir", &scratch.at("other").display().to_string()]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("--test"), "{}", ended.stderr);
    assert!(!scratch.at("other").exists(), "nothing is made of what cannot be kept");
}

/// The published sample of the standard's own layout: another frame, degrees, no events of ours.
#[test]
fn what_cannot_be_measured_says_why() {
    let scratch = Scratch::new();
    std::fs::create_dir(scratch.at("empty")).unwrap();
    let data = scratch.at("in").display().to_string();
    let empty = scratch.at("empty").display().to_string();
    let ended = run(["import", &empty, "--data-dir", &data]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("Motion-BIDS"), "{}", ended.stderr);
    let Some(reference) = endarc_tests::reference() else { return };
    let sample = reference.join("reference/samples/bids").display().to_string();
    let ended = run(["import", &sample, "--data-dir", &data]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("neutral, baseline or retest"), "{}", ended.stderr);
}
