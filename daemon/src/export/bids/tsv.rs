//! Tables of BIDS: tabs between cells, `n/a` for what is not there.

use crate::export::{ExportError, Folder};

/// What stands where nothing is known.
pub(crate) const ABSENT: &str = "n/a";

/// Writes a table with its header.
pub(super) fn write(
    folder: &Folder,
    name: &str,
    header: &[&str],
    rows: &[Vec<String>],
) -> Result<(), ExportError> {
    folder.write(name, |out| {
        writeln!(out, "{}", header.join("\t"))?;
        for row in rows {
            writeln!(out, "{}", row.join("\t"))?;
        }
        Ok(())
    })
}

/// A cell.
pub(super) fn cell<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(|| ABSENT.to_owned(), |value| value.to_string())
}
