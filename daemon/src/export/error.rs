//! Why an export could not be made.

use std::io;

use crate::output::OutputError;
use crate::store::ReadError;

/// Why an export could not be made; each is a sentence with its remedy.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// What is stored cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// What is made cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// A file cannot be written; told with its path by [`super::Folder::write`].
    #[error("cannot be written ({0})")]
    Io(#[from] io::Error),
    /// A visit that was named is not there.
    #[error("there is no visit {0}: list the visits there are with `endarc visits`")]
    NoVisit(String),
    /// A visit that was named is not over.
    #[error("visit {0} is still being recorded: end it first")]
    StillOpen(String),
    /// A person who was named is not there.
    #[error("there is no person {0}: list the visits there are with `endarc visits`")]
    NoPerson(String),
    /// Nothing is left to export.
    #[error("no visit is left to export: {0}")]
    Nothing(&'static str),
    /// The system gives no random numbers.
    #[error("the system gives no random numbers to draw codes from ({0}): try again")]
    Random(String),
    /// Two codes become one in a format that knows fewer characters.
    #[error(
        "the codes '{0}' and '{1}' would become one, since this format allows letters and digits \
         only: leave --keep-codes out"
    )]
    SameLabel(String, String),
}

impl From<::csv::Error> for ExportError {
    fn from(error: ::csv::Error) -> Self {
        Self::Io(error.into())
    }
}

impl From<serde_json::Error> for ExportError {
    fn from(error: serde_json::Error) -> Self {
        Self::Io(error.into())
    }
}
