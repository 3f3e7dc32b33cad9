//! Plain tables on a terminal: columns as wide as their widest cell.

use std::io::{self, Write};

/// A table of texts under a header; numbers stand to the right.
#[derive(Debug)]
pub(super) struct Table<const N: usize> {
    header: [&'static str; N],
    rows: Vec<[String; N]>,
}

impl<const N: usize> Table<N> {
    /// A table without rows.
    pub(super) const fn new(header: [&'static str; N]) -> Self {
        Self { header, rows: Vec::new() }
    }

    /// Adds a row below the others.
    pub(super) fn push(&mut self, row: [String; N]) {
        self.rows.push(row);
    }

    /// Writes the table, columns two spaces apart, without spaces at a line's end.
    pub(super) fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let header = self.header.map(str::to_owned);
        let widths: [usize; N] = std::array::from_fn(|column| {
            let rows = self.rows.iter().chain([&header]);
            rows.map(|row| width(&row[column])).max().unwrap_or(0)
        });
        for row in [&header].into_iter().chain(&self.rows) {
            let mut line = String::new();
            for (column, cell) in row.iter().enumerate() {
                let space = " ".repeat(widths[column] - width(cell));
                let numbers = self.rows.iter().all(|row| is_number(&row[column]));
                let (left, right) = if numbers { (space.as_str(), "") } else { ("", &*space) };
                line.push_str(left);
                line.push_str(cell);
                line.push_str(right);
                line.push_str("  ");
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

fn width(cell: &str) -> usize {
    cell.chars().count()
}

/// Whether a cell belongs in a column of numbers; an absent value is a dash.
fn is_number(cell: &str) -> bool {
    cell == "–" || cell.starts_with(|first: char| first.is_ascii_digit() || "+-".contains(first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_numbers_stand_to_the_right() {
        let mut table = Table::new(["phase", "deg", "notes"]);
        table.push(["baseline".into(), "3.5°".into(), String::new()]);
        table.push(["retest".into(), "-12.0°".into(), "fast".into()]);
        let mut text = Vec::new();
        table.write(&mut text).unwrap();
        assert_eq!(
            String::from_utf8(text).unwrap(),
            "phase        deg  notes\n\
             baseline    3.5°\n\
             retest    -12.0°  fast\n"
        );
    }
}
