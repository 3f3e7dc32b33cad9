//! Raw samples of a Motion CSV, with what the decoder noticed if that stands behind them.

use std::fs::File;
use std::path::Path;

use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;

use super::ImportError;
use super::sheet::Sheet;
use crate::export::recordings::{SATURATED, flags};

/// Reads it.
pub(super) fn read(path: &Path) -> Result<Vec<Sample>, ImportError> {
    let file =
        File::open(path).map_err(|source| ImportError::Io { path: path.to_owned(), source })?;
    let mut samples = motion_csv::read(file)
        .map_err(|source| ImportError::Motion { path: path.to_owned(), source })?;
    let sheet = Sheet::csv(path)?;
    for (sample, row) in samples.iter_mut().zip(sheet.rows()) {
        let Some(saturated) = row.get(SATURATED, "number from 0 to 3")? else { continue };
        sample.flags = flags(saturated);
    }
    Ok(samples)
}
