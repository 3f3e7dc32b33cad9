//! `endarc reanalyse`: old results stay beside the new, and what changed is told.

use endarc_tests::{Scratch, database, run};
use rusqlite::Connection;

use super::recorded::{copy, measured};

#[test]
fn another_algorithms_values_stay_beside_the_new_ones() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    let connection = Connection::open(database::file(&data)).unwrap();
    // As if an older algorithm had read every left repetition two degrees short.
    connection
        .execute_batch(
            "UPDATE repetition_value SET algorithm_version = 'older',
                    end_range_deg = end_range_deg - 2,
                    computed_at = '2026-01-01T00:00:00Z'
             WHERE kind = 'final'
                   AND repetition IN (SELECT id FROM repetition WHERE side = 'left');
             UPDATE verdict SET algorithm_version = 'older', finding = 'exceeds-error',
                    computed_at = '2026-01-01T00:00:00Z' WHERE side = 'left'",
        )
        .unwrap();
    let line = ["reanalyse", "--data-dir", &data.display().to_string(), "--json"];
    let told = run(line).done().json();
    let visit = &told["visits"][0];
    let repetitions = visit["repetitions"].as_array().unwrap();
    assert_eq!(repetitions.len(), measured()["repetitions"].as_array().unwrap().len());
    let present = told["algorithm_version"].as_str().unwrap();
    for one in repetitions {
        let change_deg = one["change_deg"].as_f64().unwrap();
        let (version, by_deg) = if one["side"] == "left" { ("older", 2.0) } else { (present, 0.0) };
        assert_eq!(one["before"]["algorithm_version"], version);
        assert_eq!(one["after"]["algorithm_version"], present);
        assert!((change_deg - by_deg).abs() < 1e-9, "{one}");
    }
    assert!((visit["greatest_change_deg"].as_f64().unwrap() - 2.0).abs() < 1e-9);
    let changed = visit["comparisons"].as_array().unwrap().iter();
    let changed = changed.filter(|one| one["before"]["finding"] != one["after"]["finding"]);
    assert!(changed.clone().count() > 0 && changed.clone().all(|one| one["side"] == "left"));

    let kept: i64 = connection
        .query_row(
            "SELECT count(DISTINCT algorithm_version) FROM repetition_value
             JOIN repetition ON repetition.id = repetition WHERE side = 'left' AND kind = 'final'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(kept, 2, "old and new");
}

#[test]
fn the_same_algorithm_changes_nothing_and_adds_nothing() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    let rows = || -> Vec<i64> {
        let connection = Connection::open(database::file(&data)).unwrap();
        let count = |table: &str| {
            let sql = format!("SELECT count(*) FROM {table}");
            connection.query_row(&sql, [], |row| row.get(0)).unwrap()
        };
        ["repetition", "repetition_value", "verdict", "alignment", "raw_chunk"].map(count).to_vec()
    };
    let before = rows();
    let ended = run(["reanalyse", "1", "--data-dir", &data.display().to_string()]).done();
    assert!(ended.stdout.contains("0.00° at most; 0 found anew, 0 not found"), "{}", ended.stdout);
    assert_eq!(rows(), before);
}

#[test]
fn a_visit_or_folder_that_is_not_there_is_said() {
    let scratch = Scratch::new();
    let data = copy(&scratch);
    let ended = run(["reanalyse", "7", "--data-dir", &data.display().to_string()]);
    assert_eq!(ended.code(), 1);
    assert!(ended.stderr.contains("there is no visit 7"), "{}", ended.stderr);
    let gone = scratch.at("gone");
    let ended = run(["reanalyse", "--data-dir", &gone.display().to_string()]);
    assert_eq!(ended.code(), 1);
    assert!(!gone.exists(), "nothing is made");
}
