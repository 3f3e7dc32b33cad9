//! Files that commands read: whole, and with an error that names file, line and remedy.

use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use endarc_protocol::events_csv::{self, Event};
use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;

use super::stdio::note;
use crate::error::Failure;

/// Why a file could not be read.
#[derive(Debug, thiserror::Error)]
enum ReadError {
    #[error("there is no such file: check the path")]
    Missing,
    #[error("reading it is not permitted: check its permissions")]
    Denied,
    #[error("this is a folder: name a file")]
    Folder,
    #[error("not UTF-8 text from byte {0} on: save it as UTF-8")]
    NotText(usize),
    #[error("cannot be read: {0}")]
    Other(io::Error),
}

impl From<io::Error> for ReadError {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::NotFound => Self::Missing,
            io::ErrorKind::PermissionDenied => Self::Denied,
            io::ErrorKind::IsADirectory => Self::Folder,
            _ => Self::Other(error),
        }
    }
}

/// A Motion CSV that was read whole.
#[derive(Debug)]
pub(super) struct Motion {
    /// The samples, by time; at least one.
    pub(super) samples: Vec<Sample>,
    path: PathBuf,
    text: Vec<u8>,
}

/// Samples that were passed over, and where the first stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Rejected {
    count: usize,
    first_line: usize,
}

impl fmt::Display for Rejected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { count, first_line } = self;
        let samples = if *count == 1 { "sample" } else { "samples" };
        write!(f, "{count} {samples} rejected: not finite (first at line {first_line})")
    }
}

impl Motion {
    /// Reads a Motion CSV.
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        let text = bytes(path)?;
        let samples =
            motion_csv::read(text.as_slice()).map_err(|error| Failure::at(path, error))?;
        Ok(Self { samples, path: path.to_owned(), text })
    }

    /// Says on stderr how many samples are not finite, if any are.
    pub(super) fn note_rejected(&self) {
        if let Some(rejected) = self.rejected() {
            note(&format!("{}: {rejected}", self.path.display()));
        }
    }

    fn rejected(&self) -> Option<Rejected> {
        let not_finite = |sample: &&Sample| !sample.is_finite();
        let first = self.samples.iter().position(|sample| !sample.is_finite())?;
        Some(Rejected {
            count: self.samples.iter().filter(not_finite).count(),
            first_line: line_of_row(&self.text, first),
        })
    }
}

/// Reads an Events CSV.
pub(super) fn events(path: &Path) -> Result<Vec<Event>, Failure> {
    events_csv::read(bytes(path)?.as_slice()).map_err(|error| Failure::at(path, error))
}

/// Reads a text file.
pub(super) fn text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(bytes(path)?)
        .map_err(|error| Failure::at(path, ReadError::NotText(error.utf8_error().valid_up_to())))
}

fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| Failure::at(path, ReadError::from(error)))
}

/// The line, from 1, of a row, from 0: the header and blank lines are no rows.
fn line_of_row(text: &[u8], row: usize) -> usize {
    text.split(|byte| *byte == b'\n')
        .enumerate()
        .filter(|(_, line)| !line.trim_ascii().is_empty())
        .nth(row + 1)
        .map_or(0, |(index, _)| index + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z\n";

    fn motion(rows: &str) -> Motion {
        let file = tempfile::NamedTempFile::new().unwrap();
        fs::write(file.path(), format!("{HEADER}{rows}")).unwrap();
        Motion::read(file.path()).unwrap()
    }

    #[test]
    fn rejected_samples_are_counted_with_the_line_of_the_first() {
        let rows = "0,1,2,3,4,5,6\n\n1,nan,2,3,4,5,6\n2,1,2,3,4,5,6\n3,1,2,3,4,5,inf\n";
        let rejected = motion(rows).rejected().unwrap();
        let said = "2 samples rejected: not finite (first at line 4)";
        assert_eq!(rejected.to_string(), said);
        assert_eq!(motion("0,1,2,3,4,5,6\n").rejected(), None);
    }

    #[test]
    fn what_cannot_be_read_names_the_path_and_the_remedy() {
        let folder = tempfile::tempdir().unwrap();
        let report = |path: &Path| Motion::read(path).unwrap_err().report();
        assert!(report(folder.path()).ends_with(": this is a folder: name a file"));
        let lost = folder.path().join("lost.csv");
        let said = format!("{}: there is no such file: check the path", lost.display());
        assert_eq!(report(&lost), said);
    }
}
