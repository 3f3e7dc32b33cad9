//! Reading beside the writer: a read-only connection of its own.
//!
//! Every call is one short read (blocking: off the async threads), so that no reader ever holds the
//! log file back.

use std::path::{Path, PathBuf};
use std::time::Duration;

use endarc_protocol::words::SensorRole;
use rusqlite::types::FromSql;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, TransactionBehavior};

use super::chunk::ChunkError;
use super::migrate::{self, STEPS};
use super::records::{VisitRecord, VisitSummary};
use super::words::Word;
use super::{
    Code, DATABASE_FILE, OpenError, RawSamples, VisitId, WallTime, belongings, looks, tables,
};

/// How long a read waits for a lock (a checkpoint that is being finished, say).
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);

/// A read-only view of the store.
#[derive(Debug)]
pub struct Reader {
    connection: Connection,
}

impl Reader {
    /// Opens the database of a data folder for reading.
    ///
    /// # Errors
    /// [`ReadError`] when there is none, or it is not of this release's format.
    pub fn open(dir: &Path) -> Result<Self, ReadError> {
        let file = dir.join(DATABASE_FILE);
        if !file.exists() {
            return Err(ReadError::NoDatabase { file });
        }
        let failed = |source| ReadError::Open(OpenError::of(&file, source));
        let connection =
            Connection::open_with_flags(&file, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(failed)?;
        connection.busy_timeout(BUSY_TIMEOUT).map_err(failed)?;
        let taken = migrate::version(&connection, STEPS)
            .map_err(|error| OpenError::version(&file, error))?;
        if taken < migrate::newest() {
            return Err(ReadError::Older { file });
        }
        Ok(Self { connection })
    }

    /// All visits, in the order in which they were stored.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn visits(&self) -> Result<Vec<VisitSummary>, ReadError> {
        let sql = format!("SELECT {SUMMARY_COLUMNS} {FROM_VISIT} ORDER BY visit.id");
        let mut visits = self.connection.prepare_cached(&sql)?;
        let visits = visits.query_map([], summary)?;
        Ok(visits.collect::<rusqlite::Result<_>>()?)
    }

    /// One visit with all that belongs to it, as it stood at one moment; `None` where there is no
    /// such visit.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn visit(&self, visit: VisitId) -> Result<Option<VisitRecord>, ReadError> {
        // One transaction, so that what belongs together is read together; it only reads.
        let moment =
            rusqlite::Transaction::new_unchecked(&self.connection, TransactionBehavior::Deferred)?;
        let sql =
            format!("SELECT {SUMMARY_COLUMNS}, {MORE_COLUMNS} {FROM_VISIT} WHERE visit.id = ?1");
        let record = moment
            .prepare_cached(&sql)?
            .query_row([visit.0], |row| Ok((summary(row)?, More::read(row)?)))
            .optional()?;
        let Some((summary, more)) = record else { return Ok(None) };
        Ok(Some(VisitRecord {
            summary,
            table_tilt_deg: more.table_tilt_deg,
            table: tables::of_visit(&moment, visit)?,
            primary: more.primary,
            end_criterion: more.end_criterion,
            notes: more.notes,
            clock_corrected_s: more.clock_corrected_s,
            program_version: more.program_version,
            spans: belongings::spans(&moment, visit)?,
            sensors: belongings::sensors(&moment, visit)?,
            alignments: belongings::alignments(&moment, visit)?,
            repetitions: belongings::repetitions(&moment, visit)?,
            verdicts: belongings::verdicts(&moment, visit)?,
            gyro_biases: belongings::gyro_biases(&moment, visit)?,
            gaps: belongings::gaps(&moment, visit)?,
            marks: belongings::marks(&moment, visit)?,
            looks: looks::of_visit(&moment, visit)?,
        }))
    }

    pub(super) const fn connection(&self) -> &Connection {
        &self.connection
    }

    /// The raw samples of one sensor of a visit, chunk by chunk, by time. Nothing for a visit or
    /// role that is not there.
    #[must_use]
    pub const fn raw_samples(&self, visit: VisitId, role: SensorRole) -> RawSamples<'_> {
        RawSamples::new(&self.connection, visit, role)
    }
}

const FROM_VISIT: &str = "FROM visit JOIN person ON person.id = visit.person";

const SUMMARY_COLUMNS: &str = "visit.id, uid, person.code, test, source, state, started_at,
     started_offset_s, started_zone, started_s, ended_s";

fn summary(row: &Row<'_>) -> rusqlite::Result<VisitSummary> {
    Ok(VisitSummary {
        id: VisitId(row.get(0)?),
        uid: row.get(1)?,
        person: word::<Code>(row, 2)?,
        test: word(row, 3)?,
        source: word(row, 4)?,
        state: word(row, 5)?,
        started: wall_time(row, 6)?,
        started_s: row.get(9)?,
        ended_s: row.get(10)?,
    })
}

/// The columns of a visit behind those of its summary.
const MORE_COLUMNS: &str = "table_tilt_deg, primary_side, primary_direction, end_criterion, notes,
     clock_corrected_s, program_version";

#[derive(Debug)]
struct More {
    table_tilt_deg: Option<f64>,
    primary: Option<(endarc_protocol::words::Side, endarc_protocol::words::Direction)>,
    end_criterion: Option<super::words::EndCriterion>,
    notes: Option<String>,
    clock_corrected_s: Option<f64>,
    program_version: String,
}

impl More {
    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            table_tilt_deg: row.get(11)?,
            primary: maybe_word(row, 12)?.zip(maybe_word(row, 13)?),
            end_criterion: maybe_word(row, 14)?,
            notes: row.get(15)?,
            clock_corrected_s: row.get(16)?,
            program_version: row.get(17)?,
        })
    }
}

/// A word in a column.
pub(super) fn word<T>(row: &Row<'_>, column: usize) -> rusqlite::Result<T>
where
    Word<T>: FromSql,
{
    row.get(column).map(|Word(word)| word)
}

/// A word in a column that may be null.
pub(super) fn maybe_word<T>(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<T>>
where
    Word<T>: FromSql,
{
    Ok(row.get::<_, Option<Word<T>>>(column)?.map(|Word(word)| word))
}

/// UTC, offset and zone in three columns beside one another.
pub(super) fn wall_time(row: &Row<'_>, first: usize) -> rusqlite::Result<WallTime> {
    Ok(WallTime {
        utc: word(row, first)?,
        offset_s: row.get(first + 1)?,
        zone: row.get(first + 2)?,
    })
}

/// Why something cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// There is no database.
    #[error(
        "there is no database at {}: record a visit first, or name its folder with --data-dir",
        file.display()
    )]
    NoDatabase {
        /// Where it was looked for.
        file: PathBuf,
    },
    /// The database has to be brought to this release's format first.
    #[error(
        "the database {} is of an older release: start `endarc run` once, it brings it up to date",
        file.display()
    )]
    Older {
        /// The database.
        file: PathBuf,
    },
    /// It cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// A chunk of raw samples is damaged.
    #[error("raw chunk {chunk} of visit {visit} cannot be read: {source}")]
    Chunk {
        /// The chunk's key.
        chunk: i64,
        /// Its visit.
        visit: VisitId,
        /// What is wrong.
        source: ChunkError,
    },
    /// SQLite could not read.
    #[error("the database cannot be read: {0}")]
    Sqlite(#[from] rusqlite::Error),
}
