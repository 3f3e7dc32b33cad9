//! Why a command failed, and how that is told in one line.

use std::error::Error;
use std::io;
use std::path::PathBuf;

use crate::output::OutputError;

/// Why a command failed. [`Failure::report`] is what a person reads.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// Something about one file or folder; the source says where in it, what, and the remedy.
    #[error("{}", path.display())]
    At {
        /// The file or folder.
        path: PathBuf,
        /// What is wrong with it.
        source: Box<dyn Error + Send + Sync>,
    },
    /// An output could not be made.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The answer could not be written to standard output.
    #[error("standard output cannot be written")]
    Stdout(#[source] io::Error),
    /// Anything else: a whole sentence with its remedy.
    #[error("{0}")]
    Said(String),
}

impl Failure {
    /// A failure about one file or folder.
    pub fn at(path: impl Into<PathBuf>, source: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::At { path: path.into(), source: source.into() }
    }

    /// Whether whoever read the answer closed the pipe.
    #[must_use]
    pub fn is_closed_pipe(&self) -> bool {
        let (Self::Stdout(error) | Self::Output(OutputError::Io { source: error, .. })) = self
        else {
            return false;
        };
        error.kind() == io::ErrorKind::BrokenPipe
    }

    /// The whole chain of causes in one line, each told once.
    #[must_use]
    pub fn report(&self) -> String {
        chain(self)
    }
}

/// An error and its causes, joined by `: `; a cause whose words the text has already is passed
/// over, because many errors quote their cause.
#[must_use]
pub fn chain(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        let words = error.to_string();
        if !text.contains(&words) {
            text.push_str(": ");
            text.push_str(&words);
        }
        cause = error.source();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_tells_each_cause_once() {
        let csv = endarc_protocol::motion_csv::read(&b"time_s\xff\n"[..]).unwrap_err();
        let report = Failure::at("shank.csv", csv).report();
        assert!(report.starts_with("shank.csv: not readable as CSV: "), "{report}");
        assert_eq!(report.matches("UTF-8").count(), 1, "{report}");
    }

    #[test]
    fn only_a_closed_pipe_is_no_failure() {
        let stdout = |kind: io::ErrorKind| Failure::Stdout(kind.into());
        assert!(stdout(io::ErrorKind::BrokenPipe).is_closed_pipe());
        assert!(!stdout(io::ErrorKind::StorageFull).is_closed_pipe());
    }
}
