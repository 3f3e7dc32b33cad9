//! A small table as text: cells by their column's name.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use csv::StringRecord;

use super::ImportError;

/// How BIDS writes that there is nothing.
const ABSENT: &str = "n/a";

/// A table that was read whole.
#[derive(Debug)]
pub(super) struct Sheet {
    path: PathBuf,
    heads: StringRecord,
    rows: Vec<StringRecord>,
}

/// One row of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<'a> {
    sheet: &'a Sheet,
    number: usize,
    cells: &'a StringRecord,
}

impl Sheet {
    /// Reads a table whose cells stand between commas.
    pub(super) fn csv(path: &Path) -> Result<Self, ImportError> {
        Self::read(path, b',')
    }

    /// Reads a table whose cells stand between tabs, unquoted.
    pub(super) fn tsv(path: &Path) -> Result<Self, ImportError> {
        Self::read(path, b'\t')
    }

    fn read(path: &Path, between: u8) -> Result<Self, ImportError> {
        let file =
            File::open(path).map_err(|source| ImportError::Io { path: path.to_owned(), source })?;
        let failed = |source| ImportError::Table { path: path.to_owned(), source };
        let mut reader =
            csv::ReaderBuilder::new().delimiter(between).quoting(between == b',').from_reader(file);
        let heads = reader.headers().map_err(failed)?.clone();
        let rows = reader.records().collect::<Result<Vec<_>, _>>().map_err(failed)?;
        Ok(Self { path: path.to_owned(), heads, rows })
    }

    /// Its rows.
    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().enumerate().map(|(index, cells)| Row {
            sheet: self,
            number: index + 1,
            cells,
        })
    }
}

impl<'a> Row<'a> {
    /// What stands in a column; `None` where the column is not there or the cell says nothing.
    pub(super) fn text(&self, column: &str) -> Option<&'a str> {
        let place = self.sheet.heads.iter().position(|head| head == column)?;
        self.cells.get(place).filter(|text| !text.is_empty() && *text != ABSENT)
    }

    /// What must stand in a column.
    pub(super) fn needed(&self, column: &str) -> Result<&'a str, ImportError> {
        self.text(column).ok_or_else(|| ImportError::Column {
            path: self.sheet.path.clone(),
            column: column.to_owned(),
        })
    }

    /// What stands in a column, as `wanted`.
    pub(super) fn get<T: FromStr>(
        &self,
        column: &str,
        wanted: &'static str,
    ) -> Result<Option<T>, ImportError> {
        let Some(text) = self.text(column) else { return Ok(None) };
        let wrong = |_refused| ImportError::Cell {
            path: self.sheet.path.clone(),
            row: self.number,
            column: column.to_owned(),
            text: text.to_owned(),
            wanted,
        };
        text.parse().map(Some).map_err(wrong)
    }

    /// What must stand in a column, as `wanted`.
    pub(super) fn must<T: FromStr>(
        &self,
        column: &str,
        wanted: &'static str,
    ) -> Result<T, ImportError> {
        self.needed(column)?;
        let missing =
            || ImportError::Column { path: self.sheet.path.clone(), column: column.to_owned() };
        self.get(column, wanted)?.ok_or_else(missing)
    }
}
