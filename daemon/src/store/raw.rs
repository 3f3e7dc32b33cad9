//! Reading raw samples back, one chunk at a time.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::chunk::{ChunkError, Readings, Scale, decode};
use super::words::Word;
use super::{ReadError, VisitId};

/// A packed chunk as it stands in its row.
#[derive(Debug)]
pub(super) struct ChunkRow {
    pub(super) id: i64,
    pub(super) codec: i64,
    pub(super) scale: Option<Scale>,
    pub(super) count: u32,
    pub(super) bytes: Vec<u8>,
    end_s: f64,
}

impl ChunkRow {
    pub(super) fn unpack(&self) -> Result<Readings, ChunkError> {
        decode(self.codec, self.scale, self.count as usize, &self.bytes)
    }
}

const COLUMNS: &str = "id, codec, accel_m_s2_per_count, gyro_rad_s_per_count, count, bytes, end_s";

fn from_row(row: &Row<'_>) -> rusqlite::Result<ChunkRow> {
    Ok(ChunkRow {
        id: row.get(0)?,
        codec: row.get(1)?,
        scale: scale(row.get(2)?, row.get(3)?),
        count: row.get(4)?,
        bytes: row.get(5)?,
        end_s: row.get(6)?,
    })
}

pub(super) fn scale(accel: Option<f64>, gyro: Option<f64>) -> Option<Scale> {
    Some(Scale { accel_m_s2_per_count: accel?, gyro_rad_s_per_count: gyro? })
}

pub(super) fn chunk_row(connection: &Connection, id: i64) -> rusqlite::Result<ChunkRow> {
    connection
        .prepare_cached(&format!("SELECT {COLUMNS} FROM raw_chunk WHERE id = ?1"))?
        .query_row([id], from_row)
}

/// The samples of one sensor of a visit, chunk by chunk, by time.
///
/// Each step is a short read of its own, so a slow taker never holds the log file back; chunks
/// that are merged between two steps neither lose nor repeat a sample. A damaged chunk is an
/// error in its place, and the next step goes on behind it.
#[derive(Debug)]
pub struct RawSamples<'a> {
    connection: &'a Connection,
    visit: VisitId,
    role: SensorRole,
    /// End of the chunk before, and the last time given out.
    behind_s: f64,
}

impl<'a> RawSamples<'a> {
    pub(super) const fn new(connection: &'a Connection, visit: VisitId, role: SensorRole) -> Self {
        Self { connection, visit, role, behind_s: f64::NEG_INFINITY }
    }

    fn next_row(&self) -> rusqlite::Result<Option<ChunkRow>> {
        self.connection
            .prepare_cached(&format!(
                "SELECT {COLUMNS} FROM raw_chunk
                 WHERE visit = ?1 AND role = ?2 AND end_s > ?3 ORDER BY start_s LIMIT 1"
            ))?
            .query_row(params![self.visit.0, Word(self.role), self.behind_s], from_row)
            .optional()
    }
}

impl Iterator for RawSamples<'_> {
    type Item = Result<Vec<Sample>, ReadError>;

    fn next(&mut self) -> Option<Self::Item> {
        let row = match self.next_row() {
            Ok(row) => row?,
            // The database itself cannot be read: say so once, and end.
            Err(error) => {
                return match std::mem::replace(&mut self.behind_s, f64::INFINITY) {
                    f64::INFINITY => None,
                    _ => Some(Err(error.into())),
                };
            }
        };
        let before_s = std::mem::replace(&mut self.behind_s, row.end_s);
        Some(match row.unpack() {
            Ok(readings) => {
                let mut samples = readings.into_samples();
                samples.retain(|sample| sample.time_s > before_s);
                Ok(samples)
            }
            Err(source) => Err(ReadError::Chunk { chunk: row.id, visit: self.visit, source }),
        })
    }
}
