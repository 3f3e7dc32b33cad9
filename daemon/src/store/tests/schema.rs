//! The words in SQL are the words in Rust, and what belongs to a person goes with the person.

use std::fmt::Display;

use rusqlite::Connection;

use super::super::words::{
    AlignmentKind, EndCriterion, Finding, GapCause, LookTold, Source, ValueKind, VisitState,
};
use super::super::{DATABASE_FILE, migrate};
use super::*;

fn check<T: Display>(column: &str, words: &[T]) {
    let words: Vec<String> = words.iter().map(|word| format!("'{word}'")).collect();
    let listed = format!("{column} IN ({})", words.join(", "));
    assert!(migrate::STEPS.concat().contains(&listed), "no step says {listed}");
}

fn table<T: Display>(connection: &Connection, table: &str, words: &[T]) {
    let mut rows = connection.prepare(&format!("SELECT word FROM {table} ORDER BY word")).unwrap();
    let rows: Vec<String> =
        rows.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    let mut words: Vec<String> = words.iter().map(ToString::to_string).collect();
    words.sort();
    assert_eq!(rows, words, "{table}");
}

#[test]
fn words_are_the_same_in_sql_and_in_rust() {
    check("side", Side::ALL);
    check("phase", Phase::ALL);
    check("trial_type", TrialType::ALL);
    check("state", VisitState::ALL);
    check("source", Source::ALL);
    check("kind", ValueKind::ALL);
    check("kind", AlignmentKind::ALL);
    check("finding", Finding::ALL);
    check("told", LookTold::ALL);
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    table(&store.connection, "test", TestKind::ALL);
    table(&store.connection, "direction", Direction::ALL);
    table(&store.connection, "sensor_role", SensorRole::ALL);
    table(&store.connection, "end_criterion", EndCriterion::ALL);
    table(&store.connection, "gap_cause", GapCause::ALL);
}

#[tokio::test]
async fn deleting_a_person_deletes_all_that_is_theirs() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    to.add_repetition(repetition(visit, Direction::Internal)).await.unwrap();
    to.save(chunk(visit, SensorRole::LeftShank, 0)).await.unwrap();
    to.begin_span(span(visit, TrialType::Baseline, 0.0)).await.unwrap();
    writer.close().await.unwrap();

    let other = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    other.pragma_update(None, "foreign_keys", true).unwrap();
    // Codes differ by more than their case.
    assert_eq!(other.execute("DELETE FROM person WHERE code = 'p-014'", []).unwrap(), 1);
    for table in
        ["visit", "visit_sensor", "phase_span", "repetition", "repetition_value", "raw_chunk"]
    {
        let sql = format!("SELECT count(*) FROM {table}");
        assert_eq!(other.query_row(&sql, [], |row| row.get(0)), Ok(0), "{table}");
    }
}
