//! The folder of an export: whole or not there, and gone on with after an interruption.

use std::fs;

use endarc_tests::{Scratch, database};
use rusqlite::Connection;

use super::recorded::{assert_checksums, copy, data, everything, export, try_export};

#[test]
fn an_interrupted_export_is_gone_on_with() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    // The last sensor's samples cannot be read: the export ends there.
    let database = Connection::open(database::file(&data)).unwrap();
    database
        .execute_batch(
            "CREATE TABLE spare AS SELECT id, bytes FROM raw_chunk;
             UPDATE raw_chunk SET bytes = x'00' WHERE role = 'right-shank'",
        )
        .unwrap();
    let arguments = ["--format", "csv", "--raw", "--json"];
    let ended = try_export(&data, &scratch, "out", &arguments);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("raw chunk"), "{}", ended.stderr);
    assert!(!scratch.at("out").exists());
    let partial = scratch.at("out.partial");
    let half = everything(&partial);
    assert!(half.contains("left-shank.csv") && !half.contains("SHA256SUMS"));
    let code = fs::read_to_string(partial.join("persons.csv")).unwrap();

    database
        .execute_batch(
            "UPDATE raw_chunk SET bytes = (SELECT bytes FROM spare WHERE spare.id = raw_chunk.id)",
        )
        .unwrap();
    // A mark of our own in what is made already shows that it is not made anew.
    fs::write(partial.join("persons.csv"), code.clone() + "\n").unwrap();
    let made = try_export(&data, &scratch, "out", &arguments).done().json();
    assert_eq!(made["resumed"], true);
    assert_eq!(made["repetitions"], 24);
    assert!(!partial.exists());
    assert_checksums(&scratch.at("out"));
    assert_eq!(fs::read_to_string(scratch.at("out/persons.csv")).unwrap(), code + "\n");
}

#[test]
fn what_is_in_the_way_stays_unless_it_may_be_replaced() {
    let scratch = Scratch::new();
    fs::create_dir(scratch.at("out")).unwrap();
    scratch.file("out/mine.txt", "kept");
    let ended = try_export(data(), &scratch, "out", &["--format", "csv"]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("--replace"), "{}", ended.stderr);
    assert!(scratch.at("out/mine.txt").exists());
    export(&scratch, "out", &["--format", "csv", "--replace"]);
    assert!(!scratch.at("out/mine.txt").exists());
    assert_eq!(scratch.names(), ["out"]);
}

#[test]
fn what_is_not_there_is_not_exported() {
    let scratch = Scratch::new();
    for (arguments, problem) in [
        (["--visit", "9"], "there is no visit 9"),
        (["--person", "P-999"], "there is no person P-999"),
        (["--from", "2999-01-01"], "no visit is left"),
        (["--to", "1999-01-01"], "no visit is left"),
    ] {
        let all = [&["--format", "csv"], &arguments[..]].concat();
        let ended = try_export(data(), &scratch, "out", &all);
        assert_eq!(ended.code(), 1);
        assert!(ended.stderr.contains(problem), "{}", ended.stderr);
    }
    assert!(scratch.names().is_empty());
    let usage = try_export(data(), &scratch, "out", &["--format", "xml"]);
    assert_eq!(usage.code(), 2);
    assert!(usage.stderr.contains("expected one of"), "{}", usage.stderr);
}
