//! Bytes to counts and values.

use super::error::DecodeError;
use crate::bytes::{self, Endian};
use crate::profile::{NumberType, SampleNumber, StreamLayout, TripleLayout};

/// Bytes of a notification when the link never agreed on larger packets.
const UNEXTENDED_LINK_BYTES: usize = 20;

/// A notification that agrees with its layout: its samples can be read without further errors.
#[derive(Debug, Clone, Copy)]
pub struct Frame<'a> {
    layout: &'a StreamLayout,
    bytes: &'a [u8],
    number: usize,
}

/// One sample of one stream, as far as the stream carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawSample {
    /// The accelerometer, m/s².
    pub accel: Part,
    /// The gyroscope, rad/s.
    pub gyro: Part,
}

/// One quantity of a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// The stream does not carry it.
    Absent,
    /// The sensor marked it as no data.
    NoData,
    /// A reading.
    Read(Triple),
}

/// A reading of three axes, in the sensor's right-handed frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Triple {
    /// m/s² or rad/s.
    pub values: [f64; 3],
    /// The counts behind the values: value = count × scale. `None` where floats are sent.
    pub counts: Option<[i32; 3]>,
    /// An axis stands at the end of its range.
    pub saturated: bool,
}

impl StreamLayout {
    /// Checks a notification's length, header, number of samples and checksum.
    ///
    /// # Errors
    /// [`DecodeError`] for any bytes that are not a frame of this layout; never a panic.
    pub fn decode<'a>(&'a self, bytes: &'a [u8]) -> Result<Frame<'a>, DecodeError> {
        let shortest = match self.number {
            SampleNumber::Fixed(number) => self.frame_length(number),
            SampleNumber::CountByte { .. } | SampleNumber::ByLength => self.frame_length(1),
        };
        check_length(bytes.len(), shortest, bytes.len().max(shortest))?;
        for header in &self.header {
            let there = bytes.get(header.at..).is_some_and(|rest| rest.starts_with(&header.bytes));
            if !there {
                return Err(DecodeError::Header { at: header.at });
            }
        }
        let number = self.sample_number(bytes)?;
        let expected = self.frame_length(number);
        check_length(bytes.len(), expected, expected)?;
        self.check_sum(bytes)?;
        Ok(Frame { layout: self, bytes, number })
    }

    fn sample_number(&self, bytes: &[u8]) -> Result<usize, DecodeError> {
        let number = match self.number {
            SampleNumber::Fixed(number) => number,
            SampleNumber::CountByte { at } => bytes.get(at).map_or(0, |count| usize::from(*count)),
            SampleNumber::ByLength => {
                // No underflow: the length was checked against that of one sample.
                let room = bytes.len().saturating_sub(self.samples_at + self.checksum_width());
                let left_over = room % self.sample_size;
                if left_over != 0 {
                    return Err(DecodeError::PartOfSample { got: bytes.len(), left_over });
                }
                room / self.sample_size
            }
        };
        if number == 0 || number > self.at_most {
            return Err(DecodeError::SampleCount { got: number, at_most: self.at_most });
        }
        Ok(number)
    }

    fn check_sum(&self, bytes: &[u8]) -> Result<(), DecodeError> {
        let Some(checksum) = self.checksum else { return Ok(()) };
        let width = checksum.kind.width();
        let end = bytes.len().saturating_sub(width);
        let covered = bytes.get(checksum.from..end).unwrap_or(&[]);
        let expected = checksum.kind.of(covered);
        let got = bytes::read(bytes, end, width, checksum.endian)
            .and_then(|got| u16::try_from(got).ok())
            .unwrap_or(0);
        if got == expected { Ok(()) } else { Err(DecodeError::Checksum { expected, got }) }
    }
}

/// Checks `got` against `shortest..=longest` bytes.
const fn check_length(got: usize, shortest: usize, longest: usize) -> Result<(), DecodeError> {
    if got == UNEXTENDED_LINK_BYTES && got < shortest {
        Err(DecodeError::PacketSizeTooSmall { got, expected: shortest })
    } else if got < shortest || got > longest {
        Err(DecodeError::Length { got, expected: shortest })
    } else {
        Ok(())
    }
}

impl Frame<'_> {
    /// How many samples it holds; at least one.
    #[must_use]
    pub const fn number(&self) -> usize {
        self.number
    }

    /// The frame's counter as sent: of its first sample, or of the notification.
    #[must_use]
    pub fn raw_counter(&self) -> Option<u64> {
        let field = self.layout.counter?;
        bytes::read(self.bytes, field.at, field.word.width(), self.layout.endian)
    }

    /// The frame's time as sent, in ticks.
    #[must_use]
    pub fn raw_ticks(&self) -> Option<u64> {
        let field = self.layout.timestamp?;
        bytes::read(self.bytes, field.at, field.word.width(), self.layout.endian)
    }

    /// Its samples, oldest first.
    pub fn samples(&self) -> impl ExactSizeIterator<Item = RawSample> + '_ {
        let Frame { layout, bytes, number } = *self;
        (0..number).map(move |index| {
            // No overflow: a frame is at most 512 bytes long.
            let start = layout.samples_at + index * layout.sample_size;
            let sample = bytes.get(start..).unwrap_or(&[]);
            let part = |triple: &Option<TripleLayout>| {
                triple.as_ref().map_or(Part::Absent, |triple| triple.read(sample, layout.endian))
            };
            RawSample { accel: part(&layout.accel), gyro: part(&layout.gyro) }
        })
    }
}

impl TripleLayout {
    fn read(&self, sample: &[u8], endian: Endian) -> Part {
        let sent = self.at.map(|at| number(sample, at, self.number, endian));
        let marked = self.no_data.iter().any(|marker| sent.iter().all(|value| value == marker));
        if marked || !sent.iter().all(|value| value.is_finite()) {
            return Part::NoData;
        }
        // Counts have at most 32 bits, so they are exact as f64.
        let zero = self.zero as f64;
        let counts = self.axes.apply(sent.map(|value| value - zero));
        let saturated = counts.iter().any(|count| count.abs() >= self.limit);
        if self.number.is_integer() {
            // `as` stops at the ends of i32, which only the negated lowest i32 reaches.
            let counts = counts.map(|count| count as i32);
            let values = counts.map(|count| f64::from(count) * self.scale_si);
            Part::Read(Triple { values, counts: Some(counts), saturated })
        } else {
            let values = counts.map(|value| value * self.scale_si);
            Part::Read(Triple { values, counts: None, saturated })
        }
    }
}

/// The number at a place; NaN beyond the end, which a checked frame never has.
fn number(sample: &[u8], at: usize, kind: NumberType, endian: Endian) -> f64 {
    let width = kind.width();
    let Some(raw) = bytes::read(sample, at, width, endian) else { return f64::NAN };
    match kind {
        NumberType::F32 => u32::try_from(raw).map_or(f64::NAN, |bits| f32::from_bits(bits).into()),
        NumberType::F64 => f64::from_bits(raw),
        NumberType::U8 | NumberType::U16 | NumberType::U24 => raw as f64,
        NumberType::I8 | NumberType::I16 | NumberType::I24 | NumberType::I32 => {
            bytes::sign_extend(raw, width) as f64
        }
    }
}
