//! Columns of integers as variable-length differences.
//!
//! All arithmetic wraps, so every value survives, however wild. A varint has seven bits a byte,
//! low ones first; zigzag puts small negative numbers beside small positive ones.

use super::ChunkError;

/// Longest varint of 64 bits.
pub(super) const VARINT_BYTES_MAX: usize = 10;

/// Appends the second differences: all but zero for a clock or counter that runs evenly.
pub(super) fn put_second_differences(out: &mut Vec<u8>, values: impl Iterator<Item = u64>) {
    let (mut last, mut step) = (0_u64, 0_u64);
    for value in values {
        let new_step = value.wrapping_sub(last);
        put_varint(out, zigzag(new_step.wrapping_sub(step)));
        (last, step) = (value, new_step);
    }
}

/// Appends the differences: small for a reading that moves slowly.
pub(super) fn put_differences(out: &mut Vec<u8>, values: impl Iterator<Item = i64>) {
    let mut last = 0_i64;
    for value in values {
        put_varint(out, zigzag(value.wrapping_sub(last).cast_unsigned()));
        last = value;
    }
}

/// A column of times in seconds, exact to the bit. Times that are whole microseconds are kept as
/// such; any other f64 by its bit pattern, which runs evenly where the time does.
pub(super) fn put_times(out: &mut Vec<u8>, times_s: &[f64]) {
    let whole: Option<Vec<u64>> =
        times_s.iter().map(|&time_s| whole_microseconds(time_s)).collect();
    out.push(if whole.is_some() { WHOLE_MICROSECONDS } else { BIT_PATTERNS });
    match whole {
        Some(microseconds) => put_second_differences(out, microseconds.into_iter()),
        None => put_second_differences(out, times_s.iter().map(|time_s| time_s.to_bits())),
    }
}

/// How a column of times is kept.
const BIT_PATTERNS: u8 = 0;
const WHOLE_MICROSECONDS: u8 = 1;

/// The largest time kept in whole microseconds, s: about three centuries, far inside what an f64
/// can count exactly.
const WHOLE_TIME_MAX_S: f64 = 9.0e9;

/// The time as whole microseconds, if dividing them gives the very same bits again.
fn whole_microseconds(time_s: f64) -> Option<u64> {
    if !(0.0..WHOLE_TIME_MAX_S).contains(&time_s) {
        return None;
    }
    // Within range, by the check above.
    let microseconds = (time_s * 1e6).round() as u64;
    let same = from_microseconds(microseconds).to_bits() == time_s.to_bits();
    same.then_some(microseconds)
}

fn from_microseconds(microseconds: u64) -> f64 {
    microseconds as f64 / 1e6
}

/// Reads columns back, never past the end.
#[derive(Debug)]
pub(super) struct Columns<'a> {
    rest: &'a [u8],
    count: usize,
}

impl<'a> Columns<'a> {
    pub(super) const fn new(payload: &'a [u8], count: usize) -> Self {
        Self { rest: payload, count }
    }

    pub(super) fn times_s(&mut self) -> Result<Vec<f64>, ChunkError> {
        let convert = match self.bytes(1)? {
            [BIT_PATTERNS] => f64::from_bits,
            [WHOLE_MICROSECONDS] => from_microseconds,
            _ => return Err(ChunkError::Value { column: "time" }),
        };
        Ok(self.second_differences()?.into_iter().map(convert).collect())
    }

    pub(super) fn second_differences(&mut self) -> Result<Vec<u64>, ChunkError> {
        let (mut last, mut step) = (0_u64, 0_u64);
        (0..self.count)
            .map(|_| {
                step = step.wrapping_add(unzigzag(self.varint()?));
                last = last.wrapping_add(step);
                Ok(last)
            })
            .collect()
    }

    /// A column of differences whose values fit 32 bits; `column` names it in an error.
    pub(super) fn differences(&mut self, column: &'static str) -> Result<Vec<i32>, ChunkError> {
        let mut last = 0_i64;
        (0..self.count)
            .map(|_| {
                last = last.wrapping_add(unzigzag(self.varint()?).cast_signed());
                i32::try_from(last).ok().ok_or(ChunkError::Value { column })
            })
            .collect()
    }

    pub(super) fn bytes(&mut self, length: usize) -> Result<&'a [u8], ChunkError> {
        let (bytes, rest) =
            self.rest.split_at_checked(length).ok_or(ChunkError::Length { count: self.count })?;
        self.rest = rest;
        Ok(bytes)
    }

    /// Refuses bytes behind the last column.
    pub(super) const fn finish(&self) -> Result<(), ChunkError> {
        if self.rest.is_empty() { Ok(()) } else { Err(ChunkError::Length { count: self.count }) }
    }

    fn varint(&mut self) -> Result<u64, ChunkError> {
        let mut value = 0_u64;
        for place in 0..VARINT_BYTES_MAX {
            let byte = self.bytes(1)?.first().copied().unwrap_or_default();
            value |= u64::from(byte & 0x7f) << (7 * place);
            if byte & 0x80 == 0 {
                return Ok(value);
            }
        }
        Err(ChunkError::Value { column: "varint" })
    }
}

fn put_varint(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push((value & 0x7f) as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

const fn zigzag(value: u64) -> u64 {
    let signed = value.cast_signed();
    ((signed << 1) ^ (signed >> 63)).cast_unsigned()
}

const fn unzigzag(value: u64) -> u64 {
    (value >> 1) ^ (value & 1).wrapping_neg()
}
