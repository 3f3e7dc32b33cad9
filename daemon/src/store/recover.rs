//! Ending visits that nobody ended.

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::words::{VisitState, Word};
use super::{VisitId, WallTime, merge, reader};

/// Ends every open visit with its last stored sample. Returns how many there were.
pub(super) fn end_open_visits(
    connection: &mut Connection,
    state: VisitState,
) -> rusqlite::Result<usize> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let open: Vec<VisitId> = transaction
        .prepare("SELECT id FROM visit WHERE state = 'open' ORDER BY id")?
        .query_map([], |row| row.get(0).map(VisitId))?
        .collect::<rusqlite::Result<_>>()?;
    for visit in &open {
        let ended_s = last_stored_s(&transaction, *visit)?;
        end_visit(&transaction, *visit, state, ended_s)?;
    }
    transaction.commit()?;
    Ok(open.len())
}

/// Ends a visit and the spans that still last, and merges its chunks.
pub(super) fn end_visit(
    connection: &Connection,
    visit: VisitId,
    state: VisitState,
    ended_s: f64,
) -> rusqlite::Result<()> {
    let started = connection
        .query_row(
            "SELECT started_at, started_offset_s, started_zone, started_s FROM visit WHERE id = ?1",
            [visit.0],
            |row| Ok((reader::wall_time(row, 0)?, row.get::<_, f64>(3)?)),
        )
        .optional()?;
    let (started, started_s): (WallTime, f64) =
        started.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
    let ended_s = ended_s.max(started_s);
    let ended_at = started.later(ended_s - started_s).utc.to_string();
    connection.execute(
        "UPDATE phase_span SET end_s = max(start_s, ?2) WHERE visit = ?1 AND end_s IS NULL",
        params![visit.0, ended_s],
    )?;
    connection.execute(
        "UPDATE visit SET state = ?2, ended_s = ?3, ended_at = ?4 WHERE id = ?1",
        params![visit.0, Word(state), ended_s, ended_at],
    )?;
    merge::merge_chunks(connection, visit)
}

/// Visit time of the last sample that reached the disk; the start where none did.
fn last_stored_s(transaction: &Transaction<'_>, visit: VisitId) -> rusqlite::Result<f64> {
    transaction.query_row(
        "SELECT max(started_s,
                    ifnull((SELECT max(end_s) FROM raw_chunk WHERE visit = ?1), started_s))
         FROM visit WHERE id = ?1",
        [visit.0],
        |row| row.get(0),
    )
}
