//! Whole numbers in and out of bytes, bounds checked, in either byte order.

use serde::Deserialize;

/// Byte order of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Endian {
    /// Least significant byte first.
    Little,
    /// Most significant byte first.
    Big,
}

/// Reads `width` (at most 8) bytes at `at` as an unsigned number; `None` beyond the end.
pub(crate) fn read(bytes: &[u8], at: usize, width: usize, endian: Endian) -> Option<u64> {
    let field = bytes.get(at..at.checked_add(width)?)?;
    let append = |value: u64, byte: &u8| (value << 8) | u64::from(*byte);
    Some(match endian {
        Endian::Big => field.iter().fold(0, append),
        Endian::Little => field.iter().rev().fold(0, append),
    })
}

/// Writes the low `width` (at most 8) bytes of `value` at `at`; `None` beyond the end.
pub(crate) fn write(
    bytes: &mut [u8],
    at: usize,
    width: usize,
    endian: Endian,
    value: u64,
) -> Option<()> {
    let field = bytes.get_mut(at..at.checked_add(width)?)?;
    let low_first = value.to_le_bytes();
    match endian {
        Endian::Little => field.iter_mut().zip(low_first).for_each(|(to, from)| *to = from),
        Endian::Big => field.iter_mut().rev().zip(low_first).for_each(|(to, from)| *to = from),
    }
    Some(())
}

/// Reads an unsigned number of `width` (1 to 8) bytes as two's complement.
pub(crate) const fn sign_extend(value: u64, width: usize) -> i64 {
    let unused_bits = 64 - 8 * width as u32;
    (value << unused_bits).cast_signed() >> unused_bits
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H21: the bytes of three values, read with the right order and sign.
    #[test]
    fn order_and_sign() {
        let value = |bytes: &[u8]| {
            sign_extend(read(bytes, 0, bytes.len(), Endian::Little).unwrap(), bytes.len())
        };
        assert_eq!(value(&[0x10, 0x27]), 10_000);
        assert_eq!(value(&[0xfc, 0xff]), -4);
        assert_eq!(value(&[0x00, 0x80]), -32_768);
        assert_eq!(value(&[0xfe, 0xff, 0xff]), -2);
        assert_eq!(read(&[0x27, 0x10], 0, 2, Endian::Big), Some(10_000));
    }

    #[test]
    fn nothing_is_read_or_written_beyond_the_end() {
        assert_eq!(read(&[1, 2, 3], 2, 2, Endian::Little), None);
        assert_eq!(read(&[1, 2, 3], usize::MAX, 2, Endian::Little), None);
        assert_eq!(write(&mut [0; 3], 2, 2, Endian::Big, 1), None);
    }
}
