//! SQLite storage: what a visit leaves behind, kept so that a kill or a full disk loses at most
//! the last second.
//!
//! - [`open()`] takes the data folder: lock, checks, migrations, visits a kill left open.
//! - [`Writer`] is the one thread that writes, fed by a bounded queue of [`Write`]s.
//! - [`Reader`] is a read-only connection, safe beside the writer.
//! - [`chunk`] packs raw samples; [`Chunker`] cuts the live stream into chunks.
//!
//! Rows go in as the structs of [`rows`] and come out as those of [`records`].

mod amend;
mod answers;
mod assignments;
mod belongings;
pub mod chunk;
mod chunker;
pub mod consents;
mod exchange;
mod ids;
mod looks;
mod merge;
mod migrate;
mod open;
mod open_error;
mod raw;
mod reader;
pub mod records;
mod recover;
pub mod rows;
mod sensors;
mod strap;
mod tables;
pub mod told;
mod wall_time;
pub mod words;
mod worker;
mod write;
mod writer;

pub use amend::{Amended, Amendment, subject};
pub use answers::{AnswerRecord, NewAnswer};
pub use assignments::{Assignment, SensorIdentity};
pub use chunker::{Chunker, Reading};
pub use ids::{Code, InvalidCode, RepetitionId, SpanId, VisitId};
pub use open::{ADDRESS_FILE, DATABASE_FILE, LOCK_FILE, Store, open};
pub use open_error::OpenError;
pub use raw::RawSamples;
pub use reader::{ReadError, Reader};
pub use sensors::{NewCalibration, SensorRecord};
pub use tables::{NewTableLevel, TableRecord};
pub use wall_time::WallTime;
pub use write::Write;
pub use writer::{QUEUE_WRITES, Saving, WriteError, Writer, WriterHandle};

#[cfg(test)]
mod tests;
