//! Bringing a database to the newest shape, one step at a time.
//!
//! The version is SQLite's own `user_version`: the number of steps taken. A step and its number
//! are one transaction, so a kill leaves either all of it or nothing, and the next start goes on.

use rusqlite::{Connection, TransactionBehavior};

/// Every step there ever was, in order. Append only: a step that was released never changes.
pub(super) const STEPS: &[&str] = &[
    include_str!("migrations/0001_initial.sql"),
    include_str!("migrations/0002_tests.sql"),
    include_str!("migrations/0003_sensors_and_tables.sql"),
    include_str!("migrations/0004_visit_table.sql"),
    include_str!("migrations/0005_bias_and_barriers.sql"),
    include_str!("migrations/0006_radio.sql"),
    include_str!("migrations/0007_looks.sql"),
    include_str!("migrations/0008_answers.sql"),
];

/// Marks the file as ours; the first step sets the same number.
const APPLICATION_ID: u32 = 0x656e_6461;

/// Why a database cannot be brought to the newest shape.
#[derive(Debug, thiserror::Error)]
pub(super) enum MigrateError {
    #[error("it was written by a newer release (format {found}, this one knows {newest})")]
    Newer { found: u32, newest: u32 },
    #[error("it is not a database of endarc")]
    NotOurs,
    #[error(transparent)]
    Sqlite(#[from] rusqlite::Error),
}

/// How many steps this release knows.
pub(super) fn newest() -> u32 {
    count(STEPS)
}

/// The steps the database has taken; 0 for a fresh one. Only reads.
pub(super) fn version(connection: &Connection, steps: &[&str]) -> Result<u32, MigrateError> {
    let found: u32 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let mark: u32 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let tables: u32 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if mark != APPLICATION_ID && (found > 0 || tables > 0) || mark == APPLICATION_ID && found == 0 {
        return Err(MigrateError::NotOurs);
    }
    let newest = count(steps);
    if found > newest {
        return Err(MigrateError::Newer { found, newest });
    }
    Ok(found)
}

/// Takes the steps that are missing.
pub(super) fn migrate(connection: &mut Connection, steps: &[&str]) -> Result<(), MigrateError> {
    let taken = version(connection, steps)?;
    for (number, step) in (1_u32..).zip(steps).skip(taken as usize) {
        let step_and_number =
            connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        step_and_number.execute_batch(step)?;
        step_and_number.pragma_update(None, "user_version", number)?;
        step_and_number.commit()?;
    }
    Ok(())
}

/// There will never be as many steps as a u32 can count.
fn count(steps: &[&str]) -> u32 {
    u32::try_from(steps.len()).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "PRAGMA application_id = 0x656e6461; CREATE TABLE a (x INTEGER) STRICT;";
    const MORE: &str = "ALTER TABLE a ADD COLUMN y INTEGER; ALTER TABLE a ADD COLUMN z INTEGER;";
    const BREAKS: &str = "ALTER TABLE a ADD COLUMN y INTEGER; ALTER TABLE nowhere ADD COLUMN z;";

    fn columns(connection: &Connection) -> Vec<String> {
        let mut names = connection.prepare("SELECT name FROM pragma_table_info('a')").unwrap();
        names.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    }

    #[test]
    fn a_fresh_database_takes_every_step_once() {
        let mut connection = Connection::open_in_memory().unwrap();
        assert_eq!(version(&connection, STEPS).unwrap(), 0);
        migrate(&mut connection, STEPS).unwrap();
        assert_eq!(version(&connection, STEPS).unwrap(), newest());
        migrate(&mut connection, STEPS).unwrap();
        let problems: u32 = connection
            .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))
            .unwrap();
        assert_eq!(problems, 0);
    }

    #[test]
    fn a_step_that_stops_half_way_leaves_nothing_and_is_taken_again() {
        let mut connection = Connection::open_in_memory().unwrap();
        assert!(migrate(&mut connection, &[TABLE, BREAKS]).is_err());
        assert_eq!(version(&connection, &[TABLE, BREAKS]).unwrap(), 1);
        assert_eq!(columns(&connection), ["x"]);
        migrate(&mut connection, &[TABLE, MORE]).unwrap();
        assert_eq!(version(&connection, &[TABLE, MORE]).unwrap(), 2);
        assert_eq!(columns(&connection), ["x", "y", "z"]);
    }

    #[test]
    fn a_newer_or_foreign_database_is_refused() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, &[TABLE, MORE]).unwrap();
        let error = migrate(&mut connection, &[TABLE]).unwrap_err().to_string();
        assert_eq!(error, "it was written by a newer release (format 2, this one knows 1)");

        let mut foreign = Connection::open_in_memory().unwrap();
        foreign.execute_batch("CREATE TABLE song (title TEXT)").unwrap();
        assert!(matches!(migrate(&mut foreign, STEPS), Err(MigrateError::NotOurs)));
        foreign.pragma_update(None, "user_version", 1).unwrap();
        assert!(matches!(migrate(&mut foreign, STEPS), Err(MigrateError::NotOurs)));
    }
}
