//! Whether the kept visits can be read, and are whole.

use std::path::Path;

use rusqlite::{Connection, OpenFlags};

use super::Finding;
use crate::error;
use crate::store::{DATABASE_FILE, ReadError, Reader};

const WHAT: &str = "database";

/// Reads the database without changing it; a daemon may be writing meanwhile.
pub(super) fn check(data: &Path) -> Finding {
    let file = data.join(DATABASE_FILE);
    let visits = match Reader::open(data).and_then(|reader| reader.visits()) {
        Ok(visits) => visits.len(),
        Err(ReadError::NoDatabase { .. }) => {
            return Finding::ok(WHAT, "none yet; it will be made at the first visit");
        }
        Err(ReadError::Older { file }) => {
            let text = "is of an older release: the next visit brings it up to date, beside a copy";
            return Finding::note(WHAT, format!("{} {text}", file.display()));
        }
        Err(error) => return Finding::fails(WHAT, error::chain(&error)),
    };
    match damage(&file) {
        Ok(None) => Finding::ok(WHAT, format!("whole, {visits} visits in {}", file.display())),
        Ok(Some(damage)) => Finding::fails(
            WHAT,
            format!(
                "{} is damaged ({damage}): move it away and put a backup copy in its place, or \
                 choose another folder with --data-dir",
                file.display()
            ),
        ),
        Err(error) => Finding::fails(WHAT, format!("{}: {error}", file.display())),
    }
}

/// The first damage SQLite finds, also in its indexes; `None` where all is whole.
fn damage(file: &Path) -> rusqlite::Result<Option<String>> {
    let connection = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let report: String = connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    // SQLite's report has a heading on a line of its own; a check is one line.
    Ok((report != "ok").then(|| report.split_whitespace().collect::<Vec<_>>().join(" ")))
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::super::State;
    use super::*;
    use crate::store;

    #[test]
    fn no_database_yet_is_well_and_none_is_made() {
        let data = tempfile::tempdir().unwrap();
        assert_eq!(check(data.path()).state, State::Ok);
        assert!(fs::read_dir(data.path()).unwrap().next().is_none());
    }

    #[test]
    fn a_fresh_database_is_whole_also_while_it_is_in_use() {
        let data = tempfile::tempdir().unwrap();
        let in_use = store::open(data.path()).unwrap();
        let finding = check(data.path());
        assert_eq!(finding.state, State::Ok, "{finding:?}");
        drop(in_use);
    }

    #[test]
    fn a_damaged_database_fails_with_the_remedy() {
        let data = tempfile::tempdir().unwrap();
        drop(store::open(data.path()).unwrap());
        let file = data.path().join(DATABASE_FILE);
        // A page in the middle of the file: its header still says that all is well.
        let mut bytes = fs::read(&file).unwrap();
        let page = bytes.len() / 4096 / 2 * 4096;
        bytes[page..page + 4096].fill(0xff);
        fs::write(&file, bytes).unwrap();
        let finding = check(data.path());
        assert_eq!(finding.state, State::Fails, "{finding:?}");
        assert!(finding.text.contains("backup copy"), "{finding:?}");
    }
}
