//! At the desk, afterwards: a person's visits over time, one visit's movements, and what is put right.
//!
//! Everything here reads the store, or hands it one [`Amendment`](crate::store::Amendment); nothing is
//! ever deleted.

mod amending;
mod curves;
mod history;
mod sheet;

use std::path::PathBuf;

pub use amending::{Change, Request};
pub use curves::{Curve, RawCurve};
pub use history::{HistoryMean, HistoryVisit};
pub use sheet::{Entry, Sheet, SheetMean, SheetRepetition, SheetVerdict};

use crate::finalise::FinaliseError;
use crate::report::{self, Gathered, PaperSize, Wishes};
use crate::store::{ReadError, VisitId, WriteError, WriterHandle};

/// The desk of a data folder.
#[derive(Debug, Clone)]
pub struct Desk {
    dir: PathBuf,
    writer: WriterHandle,
}

/// Why the desk cannot do it.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// There is no such visit or repetition.
    #[error("{0}")]
    Missing(String),
    /// It cannot be done as things stand.
    #[error("{0}")]
    Refused(String),
    /// It cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The visit cannot be read.
    #[error(transparent)]
    Analyse(#[from] FinaliseError),
    /// It cannot be stored.
    #[error("it is not stored: {0}")]
    Write(#[from] WriteError),
    /// The report cannot be drawn.
    #[error("{0}")]
    Report(String),
}

impl Desk {
    /// The desk of the data folder `dir`, whose writer this is.
    #[must_use]
    pub const fn new(dir: PathBuf, writer: WriterHandle) -> Self {
        Self { dir, writer }
    }

    /// A report of a visit: HTML, or with a size of paper PDF. Blocks.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn report(
        &self,
        visit: VisitId,
        wishes: Wishes,
        paper: Option<PaperSize>,
    ) -> Result<Vec<u8>, DeskError> {
        let document = report::document(&Gathered::of(&self.dir, visit)?, wishes);
        match paper {
            None => Ok(report::html(&document).map_err(DeskError::Report)?.into_bytes()),
            Some(size) => {
                report::pdf(&document, size).map_err(|error| DeskError::Report(error.to_string()))
            }
        }
    }
}

fn no_visit(visit: VisitId) -> DeskError {
    DeskError::Missing(format!("there is no visit {visit}"))
}
