//! What happens while the disk or the database refuses.

use std::time::Duration;

use rusqlite::Connection;
use tokio::sync::watch;

use super::super::{DATABASE_FILE, Saving, WriteError};
use super::*;

async fn until(saving: &mut watch::Receiver<Saving>, wanted: impl Fn(&Saving) -> bool) -> Saving {
    saving.wait_for(|saving| wanted(saving)).await.unwrap().clone()
}

fn refusing(saving: &Saving) -> bool {
    matches!(saving, Saving::NotSaving(_))
}

#[tokio::test]
async fn a_locked_database_loses_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    // Without patience of its own, SQLite shows the lock to the writer at once.
    store.connection.busy_timeout(Duration::ZERO).unwrap();
    let writer = Writer::start(store).unwrap();
    let to = writer.handle();
    let visit = begin(&to).await;

    let other = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    for second in 0..10 {
        to.send(chunk(visit, SensorRole::LeftShank, second)).await.unwrap();
    }
    let mut saving = to.saving();
    let Saving::NotSaving(reason) = until(&mut saving, refusing).await else { unreachable!() };
    assert!(reason.contains("another program"), "{reason}");
    other.execute_batch("ROLLBACK").unwrap();
    until(&mut saving, |saving| *saving == Saving::Ok).await;
    to.add_repetition(repetition(visit, Direction::Internal)).await.unwrap();

    let reader = Reader::open(dir.path()).unwrap();
    assert_eq!(read_samples(&reader, visit, SensorRole::LeftShank), samples(0, 10));
    writer.close().await.unwrap();
}

#[tokio::test]
async fn a_full_disk_is_told_and_the_queue_is_saved_once_there_is_space() {
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    // A file that may not grow stands in for a full disk: SQLite answers with the same error.
    store
        .connection
        .execute_batch(
            "CREATE TABLE ballast (bytes BLOB) STRICT;
             INSERT INTO ballast VALUES (zeroblob(16000000));",
        )
        .unwrap();
    let pages: u32 = store.connection.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
    store.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
    let writer = Writer::start(store).unwrap();
    let to = writer.handle();
    let visit = begin(&to).await;

    let mut saving = to.saving();
    let mut sent = 0;
    // Once the disk refuses, the queue may be full before that is heard: then sending waits.
    while !refusing(&saving.borrow_and_update()) {
        tokio::select! {
            queued = to.send(chunk(visit, SensorRole::LeftShank, sent)) => {
                queued.unwrap();
                sent += 1;
            }
            changed = saving.changed() => changed.unwrap(),
        }
    }
    let Saving::NotSaving(reason) = until(&mut saving, refusing).await else { unreachable!() };
    assert!(reason.contains("disk is full"), "{reason}");
    assert!(dir.path().join("not-saving").exists());

    let other = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    other.busy_timeout(Duration::from_secs(5)).unwrap();
    other.execute_batch("DROP TABLE ballast").unwrap();
    until(&mut saving, |saving| *saving == Saving::Ok).await;
    assert!(!dir.path().join("not-saving").exists());
    writer.close().await.unwrap();
    let reader = Reader::open(dir.path()).unwrap();
    assert_eq!(read_samples(&reader, visit, SensorRole::LeftShank), samples(0, sent));
}

#[tokio::test]
async fn closing_does_not_wait_for_ever() {
    let dir = tempfile::tempdir().unwrap();
    let store = open(dir.path()).unwrap();
    store.connection.busy_timeout(Duration::ZERO).unwrap();
    let writer = Writer::start(store).unwrap();
    let to = writer.handle();
    let visit = begin(&to).await;
    let other = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    to.send(chunk(visit, SensorRole::LeftShank, 0)).await.unwrap();
    let waiting = tokio::spawn({
        let to = to.clone();
        async move { to.add_repetition(repetition(visit, Direction::Internal)).await }
    });
    until(&mut to.saving(), refusing).await;
    let error = writer.close().await.unwrap_err();
    assert!(matches!(error, WriteError::NotSaved { writes: 1.., .. }), "{error}");
    assert_eq!(waiting.await.unwrap(), Err(WriteError::Closed));
    // The folder is free again although the last write failed.
    other.execute_batch("ROLLBACK").unwrap();
    open(dir.path()).unwrap();
}
