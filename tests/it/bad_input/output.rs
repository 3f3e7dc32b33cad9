//! Places where an output cannot go.

use std::ffi::OsStr;
use std::fs;
use std::path::Path;

use endarc_tests::{Ended, Scratch, run};

use super::{assert_only, assert_refused, motion, resting};

const SCENARIO: &str = "[[sensors]]\nrole = \"left-shank\"\n[[script]]\nneutral = {}\n";

#[test]
fn a_folder_that_holds_something_is_replaced_only_when_asked() {
    let scratch = Scratch::new();
    let scenario = scratch.file("scenario.toml", SCENARIO);
    let output = scratch.at("out");
    fs::create_dir(&output).unwrap();
    fs::write(output.join("mine.txt"), "kept").unwrap();

    assert_refused(&simulate(&scenario, &output, &[]), &output, &["not empty", "--replace"]);
    assert_eq!(fs::read_to_string(output.join("mine.txt")).unwrap(), "kept");
    assert_only(&scratch, &["out", "scenario.toml"]);

    simulate(&scenario, &output, &["--replace"]).done();
    assert!(!output.join("mine.txt").exists());
    assert!(output.join("truth.json").is_file());
    assert_only(&scratch, &["out", "scenario.toml"]);
}

#[test]
fn a_file_in_a_folders_place_stays() {
    let scratch = Scratch::new();
    let scenario = scratch.file("scenario.toml", SCENARIO);
    let output = scratch.file("out", "kept");
    for options in [&[][..], &["--replace"]] {
        assert_refused(&simulate(&scenario, &output, options), &output, &["name a folder"]);
        assert_eq!(fs::read_to_string(&output).unwrap(), "kept");
    }
}

#[test]
fn a_place_that_cannot_be_written_is_named() {
    let scratch = Scratch::new();
    let scenario = scratch.file("scenario.toml", SCENARIO);
    let motion = scratch.file("motion.csv", motion(&resting(3)));
    let nowhere = scratch.at("not-made/out");
    let around = nowhere.parent().unwrap();
    assert_refused(&simulate(&scenario, &nowhere, &[]), around, &["create it first"]);
    let ended =
        run(["orient".as_ref(), motion.as_os_str(), "--output".as_ref(), nowhere.as_os_str()]);
    assert_refused(&ended, around, &["create it first"]);
    assert_only(&scratch, &["motion.csv", "scenario.toml"]);
}

fn simulate(scenario: &Path, output: &Path, options: &[&str]) -> Ended {
    let mut arguments: Vec<&OsStr> = vec!["simulate".as_ref(), scenario.as_os_str()];
    arguments.extend(["--output".as_ref(), output.as_os_str()]);
    arguments.extend(options.iter().map(AsRef::<OsStr>::as_ref));
    run(arguments)
}
