//! `--format fhir`: R4 Bundles, held against three checks from outside that together see most of what
//! can be wrong: `fhirkit` (PyPI), `fhir` (npm), and FHIRPath and UCUM rules in the reference folder.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use endarc_tests::binary::workspace;
use endarc_tests::python::{beside, python_with, said};
use endarc_tests::{Scratch, database, reference, run, skip};
use rusqlite::Connection;
use serde_json::Value;

use super::recorded::{assert_checksums, copy, everything, export, files, measured, try_export};

/// The JSON files of an export, all of them resources.
fn resources(folder: &Path) -> Vec<PathBuf> {
    let json = |name: &String| name.ends_with(".json");
    files(folder).iter().filter(|name| json(name)).map(|name| folder.join(name)).collect()
}

fn bundle(folder: &Path) -> Value {
    let is_bundle = |path: &&PathBuf| path.display().to_string().contains("bundle-");
    let path = resources(folder);
    let path = path.iter().find(is_bundle).expect("a bundle");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

fn of_type<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().unwrap().iter().map(|entry| &entry["resource"]);
    entries.filter(|resource| resource["resourceType"] == kind).collect()
}

/// Runs a check over files; whether it is content, and what it says.
fn check(mut command: Command, paths: &[PathBuf]) -> (bool, String) {
    let output = command.args(paths).output().unwrap();
    (output.status.success(), said(&output))
}

fn fhirkit() -> Option<Command> {
    let python = python_with("fhirkit")?;
    let mut command = beside(&python, "fhirkit");
    command.arg("validate");
    Some(command)
}

fn rules() -> Option<Command> {
    let mut python = python_with("fhirpathpy, ucumvert")?;
    python.arg(reference()?.join("reference/samples/fhir_invariants.py"));
    Some(python)
}

/// npm `fhir` in the folder that `ENDARC_NODE_MODULES` names, or where node finds it.
fn fhirjs() -> Option<Command> {
    let mut command = Command::new("node");
    if let Some(modules) = std::env::var_os("ENDARC_NODE_MODULES") {
        command.env("NODE_PATH", modules);
    }
    let mut probe = Command::new("node");
    for (name, value) in command.get_envs() {
        probe.env(name, value.unwrap_or_default());
    }
    let has = probe.args(["-e", "require('fhir')"]).stderr(Stdio::null()).status();
    if !has.is_ok_and(|status| status.success()) {
        skip(
            "node cannot load 'fhir': npm install it, and name the folder with ENDARC_NODE_MODULES",
        );
        return None;
    }
    command.arg(workspace().join("tests/it/export/fhirjs.cjs"));
    Some(command)
}

/// Breaks one thing in a copy of the bundle.
fn broken(scratch: &Scratch, bundle: &Value, breaking: impl Fn(&mut Value)) -> Vec<PathBuf> {
    let mut copy = bundle.clone();
    let entries = copy["entry"].as_array_mut().unwrap();
    let is_observation = |entry: &&mut Value| entry["resource"]["resourceType"] == "Observation";
    breaking(&mut entries.iter_mut().find(is_observation).unwrap()["resource"]);
    vec![scratch.file("broken.json", copy.to_string())]
}

#[test]
fn bundles_pass_three_checks_that_see_what_is_broken() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    agree(&data);
    try_export(&data, &scratch, "out", &["--format", "fhir"]).done();
    let folder = scratch.at("out");
    assert_checksums(&folder);
    let paths = resources(&folder);
    assert_eq!(paths.len(), 2);
    let bundle = bundle(&folder);
    assert_eq!(of_type(&bundle, "Consent").len(), 2);
    let no_status =
        broken(&scratch, &bundle, |one| drop(one.as_object_mut().unwrap().remove("status")));
    for (name, command) in [("fhirkit", fhirkit()), ("fhir", fhirjs()), ("rules", rules())] {
        let Some(command) = command else { continue };
        let again = copy_of(&command);
        let (content, said) = check(command, &paths);
        println!("{name}: {said}");
        assert!(content, "{name}: {said}");
        let (content, said) = check(again, &no_status);
        assert!(!content, "{name} does not see that the status is missing: {said}");
    }
}

fn copy_of(command: &Command) -> Command {
    let mut copy = Command::new(command.get_program());
    copy.args(command.get_args());
    for (name, value) in command.get_envs() {
        copy.env(name, value.unwrap_or_default());
    }
    copy
}

/// The person agrees to research and to being touched.
fn agree(data: &Path) {
    Connection::open(database::file(data))
        .unwrap()
        .execute_batch(
            "INSERT INTO consent (person, visit, purpose, given, wording_version, at)
             VALUES (1, 1, 'research', 0, '1', '2026-11-25T08:00:00Z'),
                    (1, 1, 'research', 1, '1', '2026-11-25T09:00:00Z'),
                    (1, 1, 'contact', 1, '1', '2026-11-25T09:00:00Z')",
        )
        .unwrap();
}

#[test]
fn each_repetition_is_an_observation_and_means_lean_on_them() {
    let scratch = Scratch::new();
    let folder = export(&scratch, "out", &["--format", "fhir"]);
    let bundle = bundle(&folder);
    let observations = of_type(&bundle, "Observation");
    let told = measured()["repetitions"].as_array().unwrap();
    let (means, repetitions): (Vec<&Value>, Vec<&Value>) =
        observations.into_iter().partition(|one| one["derivedFrom"].is_array());
    assert_eq!(repetitions.len(), told.len());
    // Two legs, two directions, before and after.
    assert_eq!(means.len(), 8);
    for mean in means {
        assert_eq!(mean["derivedFrom"].as_array().unwrap().len(), 3);
    }
    let mut values: Vec<f64> =
        repetitions.iter().map(|one| one["valueQuantity"]["value"].as_f64().unwrap()).collect();
    let mut expected: Vec<f64> =
        told.iter().map(|one| one["end_range_deg"].as_f64().unwrap()).collect();
    values.sort_by(f64::total_cmp);
    expected.sort_by(f64::total_cmp);
    assert!(values.iter().zip(&expected).all(|(one, other)| (one - other).abs() < 1e-4));
    assert_eq!(of_type(&bundle, "Consent").len(), 0, "nobody was asked");
    // No code of other systems for what was measured, unless the clinic gives it.
    let text = everything(&folder);
    assert!(!text.contains("snomed") && !text.contains("loinc"));
}

#[test]
fn codes_of_other_systems_come_from_the_clinics_file() {
    let scratch = Scratch::new();
    let codes = scratch.file(
        "codes.toml",
        "base = 'https://clinic.example'\n[[code]]\nconcept = 'left-hip'\n\
         system = 'https://codes.example'\ncode = 'L-1'\ndisplay = 'Left hip'\n",
    );
    let codes = codes.display().to_string();
    let folder = export(&scratch, "out", &["--format", "fhir", "--codes", &codes]);
    let text = everything(&folder);
    assert!(text.contains("https://codes.example") && text.contains("https://clinic.example/"));
    let wrong = scratch.file("wrong.toml", "[[code]]\nconcept = 'hip'\nsystem = 's'\ncode = 'c'\n");
    let wrong = wrong.display().to_string();
    let ended = try_export(
        super::recorded::data(),
        &scratch,
        "no",
        &["--format", "fhir", "--codes", &wrong],
    );
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("wrong.toml") && ended.stderr.contains("none of our codes"));
}

#[test]
fn who_said_no_to_research_is_left_out() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    Connection::open(database::file(&data))
        .unwrap()
        .execute_batch(
            "INSERT INTO consent (person, purpose, given, wording_version, at)
             VALUES (1, 'research', 1, '1', '2026-11-25T08:00:00Z'),
                    (1, 'research', 0, '1', '2026-11-25T09:00:00Z')",
        )
        .unwrap();
    let ended = try_export(&data, &scratch, "out", &["--format", "csv"]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("research"), "{}", ended.stderr);
    // Named, it leaves: to the person's own clinic, say.
    let made = try_export(&data, &scratch, "out", &["--format", "csv", "--visit", "1", "--json"]);
    assert_eq!(made.done().json()["visits"], 1);
    assert_eq!(run(["export", "--help"]).code(), 0);
}
