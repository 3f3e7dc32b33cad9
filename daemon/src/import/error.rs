//! Why a folder cannot be imported.

use std::io;
use std::path::{Path, PathBuf};

use endarc_protocol::events_csv::EventsCsvError;
use endarc_protocol::motion_csv::MotionCsvError;

/// Why a folder cannot be imported; each names the file and the remedy.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// Nothing in it can be read here.
    #[error(
        "{}: neither a Motion-BIDS dataset (dataset_description.json), nor tables of ours \
         (visits.csv), nor a recording (left-shank.csv, right-shank.csv or shank.csv, and events.csv)",
        .0.display()
    )]
    Nothing(PathBuf),
    /// The tables are there, the samples are not.
    #[error("{}: there are no raw samples here: export with --raw, or as bids", .0.display())]
    NoRaw(PathBuf),
    /// Which leg was it?
    #[error("{}: shank.csv does not say which leg it was: add --side left or --side right", .0.display())]
    NoSide(PathBuf),
    /// A file cannot be opened.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A Motion CSV is not one.
    #[error("{}: {source}", path.display())]
    Motion {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: MotionCsvError,
    },
    /// The events are not an Events CSV.
    #[error("{}: {source}", path.display())]
    Events {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: EventsCsvError,
    },
    /// A table is not one.
    #[error("{}: not readable as a table: {source}", path.display())]
    Table {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: csv::Error,
    },
    /// A column is missing.
    #[error("{}: the column '{column}' is missing", path.display())]
    Column {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
    },
    /// A cell does not hold what it should.
    #[error("{}: row {row}, column {column}: '{text}' is no {wanted}", path.display())]
    Cell {
        /// The file.
        path: PathBuf,
        /// Which row below the header, from 1.
        row: usize,
        /// The column.
        column: String,
        /// What stands there.
        text: String,
        /// What should.
        wanted: &'static str,
    },
    /// Something else is wrong with a file.
    #[error("{}: {problem}", path.display())]
    At {
        /// The file.
        path: PathBuf,
        /// What is wrong, with its remedy.
        problem: String,
    },
    /// Nothing says what was measured.
    #[error("{0}: nothing says what was measured: add --test NAME")]
    NoTest(String),
    /// A recording without a sensor on a shank.
    #[error("{0}: no sensor was worn on a shank: nothing can be measured")]
    NoShank(String),
}

impl ImportError {
    /// Something is wrong with a file.
    pub(super) fn at(path: &Path, problem: impl Into<String>) -> Self {
        Self::At { path: path.to_owned(), problem: problem.into() }
    }
}
