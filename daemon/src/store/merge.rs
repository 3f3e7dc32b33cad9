//! Merging the small chunks of a visit into large ones, which take less room and read faster.

use endarc_protocol::words::SensorRole;
use rusqlite::{Connection, params};

use super::VisitId;
use super::chunk::{ChunkError, READINGS_MAX, Readings, encode};
use super::raw::{self, ChunkRow};
use super::words::Word;

/// Merges runs of chunks of one sensor and epoch, up to [`READINGS_MAX`] readings each. What was
/// merged full before stays; a damaged chunk stays as it is, and so do its neighbours' samples.
/// Runs in the caller's transaction.
pub(super) fn merge_chunks(connection: &Connection, visit: VisitId) -> rusqlite::Result<()> {
    for role in SensorRole::ALL {
        let mut run: Vec<Piece> = Vec::new();
        for piece in pieces(connection, visit, *role)? {
            let joins = run.last().is_none_or(|last| last.like(&piece))
                && total(&run).saturating_add(piece.count) as usize <= READINGS_MAX;
            if !joins {
                merge_run(connection, &run)?;
                run.clear();
            }
            run.push(piece);
        }
        merge_run(connection, &run)?;
    }
    Ok(())
}

/// A chunk without its bytes.
#[derive(Debug)]
struct Piece {
    id: i64,
    strap_epoch: u32,
    counter_epoch: u32,
    codec: i64,
    scale: [Option<f64>; 2],
    count: u32,
}

impl Piece {
    fn like(&self, other: &Self) -> bool {
        (self.strap_epoch, self.counter_epoch, self.codec, self.scale)
            == (other.strap_epoch, other.counter_epoch, other.codec, other.scale)
    }
}

fn pieces(
    connection: &Connection,
    visit: VisitId,
    role: SensorRole,
) -> rusqlite::Result<Vec<Piece>> {
    connection
        .prepare_cached(
            "SELECT id, strap_epoch, counter_epoch, codec,
                    accel_m_s2_per_count, gyro_rad_s_per_count, count
             FROM raw_chunk WHERE visit = ?1 AND role = ?2 ORDER BY start_s",
        )?
        .query_map(params![visit.0, Word(role)], |row| {
            Ok(Piece {
                id: row.get(0)?,
                strap_epoch: row.get(1)?,
                counter_epoch: row.get(2)?,
                codec: row.get(3)?,
                scale: [row.get(4)?, row.get(5)?],
                count: row.get(6)?,
            })
        })?
        .collect()
}

/// Puts one chunk in the place of a run: the first row grows, the others go.
fn merge_run(connection: &Connection, run: &[Piece]) -> rusqlite::Result<()> {
    let [first, others @ ..] = run else { return Ok(()) };
    let Some(last) = others.last() else { return Ok(()) };
    let rows = run
        .iter()
        .map(|piece| raw::chunk_row(connection, piece.id))
        .collect::<rusqlite::Result<Vec<ChunkRow>>>()?;
    let packed = match joined(&rows).and_then(|readings| encode(&readings)) {
        Ok(packed) => packed,
        Err(error) => {
            tracing::warn!(%error, from = first.id, to = last.id, "raw chunks are left unmerged");
            return Ok(());
        }
    };
    connection
        .prepare_cached(
            "UPDATE raw_chunk SET bytes = ?2, count = ?3,
                end_s = (SELECT end_s FROM raw_chunk WHERE id = ?4) WHERE id = ?1",
        )?
        .execute(params![first.id, packed, total(run), last.id])?;
    let mut delete = connection.prepare_cached("DELETE FROM raw_chunk WHERE id = ?1")?;
    for piece in others {
        delete.execute([piece.id])?;
    }
    Ok(())
}

fn total(run: &[Piece]) -> u32 {
    run.iter().fold(0, |total, piece| total.saturating_add(piece.count))
}

/// The readings of alike chunks behind one another.
fn joined(rows: &[ChunkRow]) -> Result<Readings, ChunkError> {
    let mut whole: Option<Readings> = None;
    for row in rows {
        let more = row.unpack()?;
        match (&mut whole, more) {
            (
                Some(Readings::Counts { readings, .. }),
                Readings::Counts { readings: mut more, .. },
            ) => readings.append(&mut more),
            (Some(Readings::Values(samples)), Readings::Values(mut more)) => {
                samples.append(&mut more);
            }
            (_, more) => whole = Some(more),
        }
    }
    Ok(whole.unwrap_or(Readings::Values(Vec::new())))
}
