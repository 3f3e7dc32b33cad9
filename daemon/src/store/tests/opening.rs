//! Taking a data folder: after a kill, twice, unwritable, damaged, of another release.

use std::fs;
use std::path::PathBuf;

use rusqlite::Connection;

use super::super::words::VisitState;
use super::super::{DATABASE_FILE, OpenError, ReadError};
use super::*;

/// The files as they stand on disk at this moment: what a kill would leave.
fn crash_image(dir: &Path) -> tempfile::TempDir {
    let image = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, image.path().join(path.file_name().unwrap())).unwrap();
    }
    image
}

#[tokio::test]
async fn a_visit_that_was_killed_is_ended_with_its_last_sample() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    to.begin_span(span(visit, TrialType::Baseline, 1.0)).await.unwrap();
    for second in 0..5 {
        to.save(chunk(visit, SensorRole::LeftShank, second)).await.unwrap();
    }
    let repetition = to.add_repetition(repetition(visit, Direction::Internal)).await.unwrap();
    let image = crash_image(dir.path());
    writer.close().await.unwrap();

    let store = open(image.path()).unwrap();
    assert_eq!(store.recovered_visits, 1);
    let reader = Reader::open(image.path()).unwrap();
    let record = reader.visit(visit).unwrap().unwrap();
    assert_eq!(record.summary.state, VisitState::Interrupted);
    assert_eq!(record.summary.ended_s, Some(4.99));
    assert_eq!(record.spans[0].end_s, Some(4.99));
    assert_eq!(record.repetitions[0].id, repetition);
    assert_eq!(read_samples(&reader, visit, SensorRole::LeftShank), samples(0, 5));
    drop(store);
    assert_eq!(open(image.path()).unwrap().recovered_visits, 0);
}

#[tokio::test]
async fn a_kill_while_the_disk_refused_leaves_a_truncated_visit() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let visit = begin(&writer.handle()).await;
    let image = crash_image(dir.path());
    writer.close().await.unwrap();
    fs::write(image.path().join("not-saving"), "").unwrap();

    drop(open(image.path()).unwrap());
    let record = Reader::open(image.path()).unwrap().visit(visit).unwrap().unwrap();
    assert_eq!(record.summary.state, VisitState::Truncated);
    assert!(!image.path().join("not-saving").exists());
}

#[tokio::test]
async fn closing_ends_the_visit_and_folds_the_log_in() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let visit = begin(&writer.handle()).await;
    writer.close().await.unwrap();
    let log = dir.path().join(format!("{DATABASE_FILE}-wal"));
    assert_eq!(fs::metadata(log).map_or(0, |log| log.len()), 0);
    let store = open(dir.path()).unwrap();
    assert_eq!(store.recovered_visits, 0);
    let check: String =
        store.connection.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
    assert_eq!(check, "ok");
    let state = Reader::open(dir.path()).unwrap().visit(visit).unwrap().unwrap().summary.state;
    assert_eq!(state, VisitState::Closed);
}

#[test]
fn every_commit_is_synced_and_references_hold() {
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    let told = |name| {
        let value = store.connection.pragma_query_value(None, name, |row| row.get(0)).unwrap();
        match value {
            rusqlite::types::Value::Integer(number) => number.to_string(),
            value => format!("{value:?}"),
        }
    };
    assert_eq!(told("journal_mode"), "Text(\"wal\")");
    // 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert_eq!(told("synchronous"), "2");
    assert_eq!(told("foreign_keys"), "1");
}

#[test]
fn a_folder_in_use_is_refused_with_the_address_and_free_afterwards() {
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    fs::write(dir.path().join("address"), "http://127.0.0.1:8420/\n").unwrap();
    let error = open(dir.path()).unwrap_err().to_string();
    assert!(
        error.contains("another endarc") && error.contains("http://127.0.0.1:8420/"),
        "{error}"
    );
    drop(store);
    open(dir.path()).unwrap();
}

#[test]
fn an_unwritable_folder_is_named_with_the_remedy() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a-file");
    fs::write(&file, "").unwrap();
    for folder in [file.join("inside"), file] {
        let error = open(&folder).unwrap_err();
        assert!(matches!(error, OpenError::Folder { .. }));
        let text = error.to_string();
        assert!(text.contains("--data-dir") && text.contains("a-file"), "{text}");
        assert!(!text.contains('\n'));
    }
}

#[test]
fn a_database_of_a_newer_release_is_refused_untouched() {
    let dir = tempfile::tempdir().unwrap();
    let file = database(dir.path());
    Connection::open(&file).unwrap().pragma_update(None, "user_version", 9999).unwrap();
    let before = fs::read(&file).unwrap();
    let error = open(dir.path()).unwrap_err().to_string();
    assert!(error.contains("newer release") && error.contains("format 9999"), "{error}");
    assert!(Reader::open(dir.path()).unwrap_err().to_string().contains("newer release"));
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn a_foreign_database_is_refused_untouched() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(DATABASE_FILE);
    Connection::open(&file).unwrap().execute_batch("CREATE TABLE song (title TEXT)").unwrap();
    let before = fs::read(&file).unwrap();
    let error = open(dir.path()).unwrap_err().to_string();
    assert!(error.contains("not a database of endarc"), "{error}");
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn a_damaged_database_is_refused_untouched() {
    let zeroed = |mut bytes: Vec<u8>| {
        bytes[8192..12288].fill(0);
        bytes
    };
    let text = |_| b"this is not a database, but it is long enough to be looked at".to_vec();
    let cut = |bytes: Vec<u8>| bytes[..20_000].to_vec();
    for damage in [&zeroed as &dyn Fn(Vec<u8>) -> Vec<u8>, &text, &cut] {
        let dir = tempfile::tempdir().unwrap();
        let file = database(dir.path());
        let damaged = damage(fs::read(&file).unwrap());
        fs::write(&file, &damaged).unwrap();
        let error = open(dir.path()).unwrap_err();
        assert!(matches!(error, OpenError::Damaged { .. }), "{error}");
        assert!(error.to_string().contains("backup copy"));
        assert_eq!(fs::read(&file).unwrap(), damaged);
    }
}

#[test]
fn a_log_without_its_database_is_not_thrown_away() {
    let dir = tempfile::tempdir().unwrap();
    let log = dir.path().join(format!("{DATABASE_FILE}-wal"));
    fs::write(&log, "frames").unwrap();
    assert!(matches!(open(dir.path()), Err(OpenError::LogAlone { .. })));
    assert_eq!(fs::read(&log).unwrap(), b"frames");
}

#[test]
fn a_reader_needs_a_database() {
    let dir = tempfile::tempdir().unwrap();
    let error = Reader::open(dir.path()).unwrap_err();
    assert!(matches!(error, ReadError::NoDatabase { .. }));
    assert!(fs::read_dir(dir.path()).unwrap().next().is_none(), "looking makes nothing");
}

#[test]
fn a_copy_is_made_before_the_shape_changes() {
    let dir = tempfile::tempdir().unwrap();
    let file = database(dir.path());
    let connection = Connection::open(&file).unwrap();
    open::back_up_beside(&connection, &file, 1).unwrap();
    let copy = Connection::open(dir.path().join("endarc.sqlite.format-1")).unwrap();
    let count = |connection: &Connection| {
        connection.query_row("SELECT count(*) FROM test", [], |row| row.get::<_, u32>(0)).unwrap()
    };
    assert!(count(&copy) > 0);
    assert_eq!(count(&copy), count(&connection));
}

/// An empty database of this release.
fn database(dir: &Path) -> PathBuf {
    drop(open(dir).unwrap());
    dir.join(DATABASE_FILE)
}
