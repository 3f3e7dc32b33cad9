//! NumPy arrays, as far as the reference recordings use them.
//!
//! Format: NumPy Enhancement Proposal 1, version 1.0: `\x93NUMPY`, 1, 0, the header's length (u16,
//! little-endian), the header (a Python dictionary as text), raw numbers in C order.

use std::fs;
use std::path::Path;

/// A table of numbers, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    columns: usize,
    values: Vec<f64>,
}

impl Table {
    /// Reads a two-dimensional array of `f32` or `i16`, little-endian.
    ///
    /// # Panics
    /// When the file is not there or of another kind.
    #[must_use]
    pub fn read(file: &Path) -> Self {
        let bytes = fs::read(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        let (start, rest) = bytes.split_at(10);
        assert_eq!(&start[..8], b"\x93NUMPY\x01\x00", "{}", file.display());
        let length = usize::from(u16::from_le_bytes([start[8], start[9]]));
        let (header, data) = rest.split_at(length);
        let header = std::str::from_utf8(header).expect("the header is text");
        assert!(header.contains("'fortran_order': False"), "{header}");
        let (rows, columns) = shape(header);
        let values: Vec<f64> = if header.contains("'descr': '<f4'") {
            let value = |four: &[u8]| f32::from_le_bytes(four.try_into().expect("four bytes"));
            data.chunks_exact(4).map(|four| f64::from(value(four))).collect()
        } else if header.contains("'descr': '<i2'") {
            let value = |two: &[u8]| i16::from_le_bytes(two.try_into().expect("two bytes"));
            data.chunks_exact(2).map(|two| f64::from(value(two))).collect()
        } else {
            panic!("numbers of another kind: {header}")
        };
        assert_eq!(values.len(), rows * columns, "{}", file.display());
        Self { columns, values }
    }

    /// The rows.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.columns)
    }
}

/// Rows and columns of `'shape': (56940, 6)`.
fn shape(header: &str) -> (usize, usize) {
    let inside = header.split_once("'shape': (").and_then(|(_, rest)| rest.split_once(')'));
    let numbers = inside.and_then(|(inside, _)| inside.split_once(','));
    let (rows, columns) = numbers.unwrap_or_else(|| panic!("no two dimensions: {header}"));
    let number = |text: &str| text.trim().parse().unwrap_or_else(|_| panic!("{header}"));
    (number(rows), number(columns))
}
