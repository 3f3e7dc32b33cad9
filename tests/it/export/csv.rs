//! `--format csv`: tables that say what they hold, held against `frictionless` (PyPI), the
//! reference implementation of Data Package and Table Schema.

use std::fs;
use std::path::Path;

use endarc_tests::Scratch;
use endarc_tests::database;
use endarc_tests::python::{beside, python_with, said};
use endarc_tests::truth::number;
use rusqlite::Connection;
use serde_json::Value;

use super::recorded::{assert_checksums, copy, everything, export, files, measured, try_export};

/// What the validator says of a data package.
fn validate(folder: &Path) -> Option<(bool, String)> {
    let python = python_with("frictionless")?;
    let output = beside(&python, "frictionless")
        .args(["validate", "datapackage.json"])
        .current_dir(folder)
        .output()
        .unwrap();
    Some((output.status.success(), said(&output)))
}

/// The rows of a table, each cell under its column's name.
fn rows(folder: &Path, table: &str) -> Vec<Vec<(String, String)>> {
    let text = fs::read_to_string(folder.join(format!("{table}.csv"))).unwrap();
    let mut lines = text.lines();
    let heads: Vec<&str> = lines.next().unwrap().split(',').collect();
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), heads.len(), "{line}");
        heads.iter().zip(cells).map(|(head, cell)| ((*head).into(), cell.into())).collect()
    };
    lines.map(row).collect()
}

fn cell<'a>(row: &'a [(String, String)], column: &str) -> &'a str {
    &row.iter().find(|(head, _)| head == column).unwrap().1
}

#[test]
fn the_tables_pass_their_validator_and_a_broken_copy_does_not() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "csv", "--raw"]);
    assert_checksums(&folder);
    let Some((valid, said)) = validate(&folder) else { return };
    assert!(valid, "{said}");
    // A side that is none: size and checksum are put right, so that only the codebook objects.
    let path = folder.join("repetitions.csv");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen(",left,", ",lift,", 1)).unwrap();
    let (valid, said) = validate(&folder).unwrap();
    assert!(!valid && said.contains("lift"), "{said}");
}

#[test]
fn every_repetition_is_a_row_with_its_final_and_live_value() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "csv"]);
    let rows = rows(&folder, "repetitions");
    let expected = measured()["repetitions"].as_array().unwrap();
    assert_eq!(rows.len(), expected.len());
    for row in &rows {
        assert_eq!(cell(row, "value"), "final");
        let at_s: f64 = cell(row, "end_range_at_s").parse().unwrap();
        let same = |one: &&Value| {
            one["side"] == cell(row, "side") && (number(one, "end_range_at_s") - at_s).abs() < 1e-9
        };
        let expected = expected.iter().find(same).expect("the demo told it");
        assert_eq!(expected["direction"], cell(row, "direction"));
        let end_range_deg: f64 = cell(row, "end_range_deg").parse().unwrap();
        // Every digit leaves; whoever reads the demo's JSON may lose the last bit.
        assert!((end_range_deg - number(expected, "end_range_deg")).abs() < 1e-12, "{row:?}");
        assert!(!cell(row, "live_end_range_deg").is_empty());
    }
}

#[test]
fn whose_it_is_leaves_only_when_asked() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    let free = "Jo told =HYPERLINK";
    Connection::open(database::file(&data))
        .unwrap()
        .execute_batch(&format!(
            "UPDATE visit SET notes = '={free}'; UPDATE sensor SET serial = 'SN-4711';"
        ))
        .unwrap();
    let person = measured()["visit"]["person"].as_str().unwrap();
    let out = |name: &str, arguments: &[&str]| {
        let all = [&["--format", "csv", "--raw"], arguments].concat();
        try_export(&data, &scratch, name, &all).done();
        scratch.at(name)
    };
    let drawn = out("drawn", &[]);
    let again = out("again", &[]);
    let addresses = database::addresses(&data);
    for text in [&everything(&drawn), &everything(&again)] {
        assert!(!text.contains(person) && !text.contains(free) && !text.contains("SN-4711"));
        assert!(addresses.values().all(|address| !text.contains(address)), "{addresses:?}");
    }
    let code = |folder: &Path| cell(&rows(folder, "persons")[0], "person").to_owned();
    assert_ne!(code(&drawn), code(&again), "codes are drawn anew");

    let kept = out("kept", &["--keep-codes", "--free-text", "--spreadsheet"]);
    assert_eq!(code(&kept), person);
    // As a text that no spreadsheet computes.
    assert!(everything(&kept).contains(&format!(",'={free}")));
    let negative = |text: &str| text.contains(",'-") || text.contains("'+");
    assert!(!negative(&everything(&kept)), "numbers stay numbers");
    let Some((valid, said)) = validate(&kept) else { return };
    assert!(valid, "{said}");
}

#[test]
fn dates_move_by_whole_days() {
    let scratch = Scratch::new();
    let folder = |name: &str, arguments: &[&str]| {
        export(&scratch, name, &[&["--format", "csv"], arguments].concat())
    };
    let started = |folder: &Path| cell(&rows(folder, "visits")[0], "started_at").to_owned();
    let (truth, shifted) = (folder("true", &[]), folder("shifted", &["--shift-dates"]));
    let (truth, shifted) = (started(&truth), started(&shifted));
    let (day, time) = truth.split_at(10);
    assert_ne!(&shifted[..10], day);
    assert_eq!(&shifted[10..], time);
}

#[test]
fn raw_samples_are_read_by_analyse_as_they_were() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "csv", "--raw"]);
    let motion = files(&folder).into_iter().find(|name| name.ends_with("right-shank.csv"));
    let motion = folder.join(motion.expect("a recording of the right leg"));
    let at = |name: &str| motion.with_file_name(name).display().to_string();
    let (shank, events, pelvis) = (at("right-shank.csv"), at("events.csv"), at("pelvis.csv"));
    let mut line = vec!["analyse", &shank, "--events", &events, "--side", "right"];
    line.extend(["--test", "prone-hip-rotation", "--pelvis", &pelvis, "--json"]);
    let answer = endarc_tests::run(line).done().json();
    let told = measured()["repetitions"].as_array().unwrap();
    let right: Vec<&Value> = told.iter().filter(|one| one["side"] == "right").collect();
    let found = answer["repetitions"].as_array().unwrap();
    assert_eq!(found.len(), right.len());
    for (one, expected) in found.iter().zip(right) {
        let difference = number(one, "end_range_deg") - number(expected, "end_range_deg");
        // Times of spans are written to the microsecond.
        assert!(difference.abs() < 1e-3, "{one} {expected}");
    }
}
