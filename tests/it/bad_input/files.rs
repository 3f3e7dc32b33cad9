//! Files that are not there, and scenarios and profiles that are refused.

use std::ffi::OsStr;
use std::path::Path;

use endarc_tests::{Ended, Scratch, run};

use super::{assert_only, assert_refused, motion, resting};

#[test]
fn a_file_that_is_not_there_is_named() {
    let scratch = Scratch::new();
    let (lost, out) = (scratch.at("lost.csv"), scratch.at("out.csv"));
    let ended = run(["orient".as_ref(), lost.as_os_str(), "--output".as_ref(), out.as_os_str()]);
    assert_refused(&ended, &lost, &["no such file", "check the path"]);
    assert_refused(&simulate(&scratch, &lost, None), &lost, &["no such file", "check the path"]);
    assert_only(&scratch, &[]);
}

#[test]
fn a_folder_in_a_files_place_is_named() {
    let scratch = Scratch::new();
    let out = scratch.at("out.csv");
    let folder = scratch.path();
    let ended = run(["orient".as_ref(), folder.as_os_str(), "--output".as_ref(), out.as_os_str()]);
    assert_refused(&ended, folder, &["folder", "name a file"]);
    assert_only(&scratch, &[]);
}

#[test]
fn a_recording_is_never_overwritten_by_what_is_made_from_it() {
    let scratch = Scratch::new();
    let text = motion(&resting(10));
    let file = scratch.file("motion.csv", &text);
    let ended = run(["orient".as_ref(), file.as_os_str(), "--output".as_ref(), file.as_os_str()]);
    assert_refused(&ended, &file, &["name another file"]);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn a_malformed_scenario_names_line_and_field() {
    let sensor = "[[sensors]]\nrole = \"left-shank\"\n";
    let script = "[[script]]\nbaseline = {}\n";
    let cases: [(String, &[&str]); 7] = [
        (format!("seed = 1\nrate_hz = 5\n{sensor}{script}"), &["line 2", "rate_hz", "20"]),
        (format!("sed = 1\n{sensor}{script}"), &["line 1", "sed", "seed"]),
        (
            format!("{sensor}[[script]]\nbaseline = {{ repetitions = \"many\" }}\n"),
            &["line 4", "repetitions"],
        ),
        (format!("[[sensors]]\nrole = \"left-arm\"\n{script}"), &["line 2", "role", "left-shank"]),
        (format!("{sensor}[[script]]\nstretch = {{}}\n"), &["line 4", "stretch"]),
        (sensor.to_owned(), &["script"]),
        ("[[sensors]\n".to_owned(), &["line 1"]),
    ];
    for (text, words) in cases {
        let scratch = Scratch::new();
        let file = scratch.file("scenario.toml", &text);
        assert_refused(&simulate(&scratch, &file, None), &file, words);
        assert_only(&scratch, &["scenario.toml"]);
    }
}

#[test]
fn a_malformed_profile_names_line_and_field() {
    // The bytes are those of the reference profile; each case changes one line of it.
    let reference = include_str!("../../../protocol/profiles/reference.toml");
    let cases: [(&str, &str, &[&str]); 6] = [
        ("rate_hz = 100", "rate_hz = -1", &["rate_hz"]),
        ("endian = \"little\"", "endian = \"middle\"", &["endian", "little"]),
        ("scale = 0.0001220703125", "scale = 0.0", &["scale"]),
        ("unit = \"g\"", "unit = \"stone\"", &["unit"]),
        ("name = \"reference\"", "nme = \"reference\"", &["nme", "name"]),
        ("at = 0, bytes = \"A1\"", "at = 0, bytes = \"Z1\"", &["bytes"]),
    ];
    for (right, wrong, words) in cases {
        let scratch = Scratch::new();
        let before = reference.split_once(right).unwrap_or_else(|| panic!("no {right}")).0;
        let line =
            format!("line {}", before.lines().count().max(1) + usize::from(before.ends_with('\n')));
        let file = scratch.file("profile.toml", reference.replacen(right, wrong, 1));
        let ended = simulate(&scratch, Path::new("clinic"), Some(&file));
        assert_refused(&ended, &file, words);
        assert!(ended.stderr.contains(&line), "{line}: {}", ended.stderr);
        assert_only(&scratch, &["profile.toml"]);
    }
}

fn simulate(scratch: &Scratch, scenario: &Path, profile: Option<&Path>) -> Ended {
    let output = scratch.at("out");
    let mut arguments: Vec<&OsStr> = vec!["simulate".as_ref(), scenario.as_os_str()];
    arguments.extend(["--output".as_ref(), output.as_os_str()]);
    if let Some(profile) = profile {
        arguments.extend(["--frames".as_ref(), profile.as_os_str()]);
    }
    run(arguments)
}
