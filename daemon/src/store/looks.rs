//! Looks at comparisons that were still open: each costs part of the 5 %.

use rusqlite::{Connection, params};

use super::VisitId;
use super::reader::word;
use super::rows::Look;
use super::words::Word;
use super::write::insert;

pub(super) fn add(db: &Connection, new: &Look) -> rusqlite::Result<i64> {
    insert(
        db,
        "INSERT INTO look (visit, side, direction, retest_count, told, at_s)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![
            new.visit.0,
            Word(new.side),
            Word(new.direction),
            new.retest_count,
            Word(new.told),
            new.at_s,
        ],
    )
}

/// Those of a visit, by time.
pub(super) fn of_visit(db: &Connection, visit: VisitId) -> rusqlite::Result<Vec<Look>> {
    let sql = "SELECT side, direction, retest_count, told, at_s FROM look
               WHERE visit = ?1 ORDER BY at_s, id";
    db.prepare_cached(sql)?
        .query_map([visit.0], |row| {
            Ok(Look {
                visit,
                side: word(row, 0)?,
                direction: word(row, 1)?,
                retest_count: row.get(2)?,
                told: word(row, 3)?,
                at_s: row.get(4)?,
            })
        })?
        .collect()
}
