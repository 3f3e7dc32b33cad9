//! The same rests through `imucal` (PyPI), which follows Ferraris, Grimaldi & Parvis (Sensors and
//! Materials 7, 1995) equation by equation: offset, scale and corrected readings must agree.
//!
//! Its method takes each face as exactly vertical, so these rests are.

use std::process::{Command, Stdio};

use endarc_protocol::sample::Sample;
use endarc_tests::binary::workspace;
use endarc_tests::{Scratch, run, skip};
use serde_json::{Value, json};

use super::rests::{CHEAP, FACES, Recording};

/// The names that the library gives the faces, in the order of [`FACES`].
const STATIC: [&str; 6] = ["x_p", "x_a", "y_p", "y_a", "z_p", "z_a"];
const TURNS: [&str; 3] = ["x_rot", "y_rot", "z_rot"];

/// A Python that has the library: `ENDARC_PYTHON`, or `python3`.
fn python() -> Option<String> {
    let python = std::env::var("ENDARC_PYTHON").unwrap_or_else(|_unset| "python3".to_owned());
    let has = Command::new(&python)
        .args(["-c", "import imucal"])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if has {
        return Some(python);
    }
    skip(&format!(
        "{python} cannot import imucal: install it, or name a Python with ENDARC_PYTHON"
    ));
    None
}

#[test]
fn another_library_finds_the_same_errors() {
    let Some(python) = python() else { return };
    let scratch = Scratch::new();
    let mut recording = Recording::new(CHEAP, 31);
    let mut sections = Vec::new();
    for (name, face) in STATIC.iter().zip(FACES) {
        let first = recording.samples.len();
        recording.lie(face, 6.0);
        sections.push(json!([name, first, recording.samples.len()]));
        recording.carry(1.0);
    }
    let rests = recording.samples.len();
    for (name, face) in TURNS.iter().zip([FACES[0], FACES[2], FACES[4]]) {
        let first = recording.samples.len();
        recording.turn(face);
        sections.push(json!([name, first, recording.samples.len()]));
    }
    let all = recording.write(scratch.at("all.csv"));
    let ours = ours(&scratch, &recording.samples[..rests]);

    let list = scratch.file("sections.json", Value::from(sections).to_string());
    let script = workspace().join("tests/it/calibration/ferraris.py");
    let output = Command::new(python).arg(script).arg(list).arg(&all).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let theirs: Value = serde_json::from_slice(&output.stdout).unwrap();
    compare(&ours, &theirs, &recording.samples);
}

fn ours(scratch: &Scratch, rests: &[Sample]) -> Value {
    let file = scratch.at("rests.csv");
    super::rests::write(&file, rests);
    let (file, data) = (file.display().to_string(), scratch.at("data").display().to_string());
    let calibrate = ["sensors", "calibrate", "AA:01", "--from", &file, "--json"];
    run(calibrate.iter().chain(&["--data-dir", &data])).done().json()
}

fn compare(ours: &Value, theirs: &Value, samples: &[Sample]) {
    let number = |value: &Value| value.as_f64().unwrap();
    let vector = |value: &Value| -> [f64; 3] { std::array::from_fn(|n| number(&value[n])) };
    for (key, limit) in [("accel_offset_m_s2", 0.003), ("gyro_offset_rad_s", 1e-4)] {
        let (one, other) = (vector(&ours[key]), vector(&theirs[key]));
        println!("{key}: ours {one:?}, imucal {other:?}");
        for axis in 0..3 {
            assert!((one[axis] - other[axis]).abs() < limit, "{key} {axis}");
        }
    }
    let mut matrix = [[0.0; 3]; 3];
    for (row, own) in matrix.iter_mut().enumerate() {
        for (column, own) in own.iter_mut().enumerate() {
            *own = number(&ours["accel_matrix"][row][column]);
            let other = number(&theirs["accel_matrix"][row][column]);
            println!("matrix {row}{column}: ours {own:.5}, imucal {other:.5}");
            assert!((*own - other).abs() < 1e-3, "matrix {row}{column}");
        }
    }
    let offset = vector(&ours["accel_offset_m_s2"]);
    let corrected = theirs["corrected"].as_array().unwrap();
    assert!(corrected.len() > 100);
    for (sample, other) in samples.iter().step_by(50).zip(corrected) {
        let bare: [f64; 3] = std::array::from_fn(|axis| sample.accel_m_s2[axis] - offset[axis]);
        for (row, other) in vector(other).into_iter().enumerate() {
            let own: f64 = (0..3).map(|column| matrix[row][column] * bare[column]).sum();
            assert!((own - other).abs() < 0.01, "{own} and {other} at {} s", sample.time_s);
        }
    }
}
