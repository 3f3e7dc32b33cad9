//! How the bytes of a notification are laid out: a description that cannot be wrong.
//!
//! Only [`Profile::parse`](super::Profile::parse) makes one, after checking that every field lies
//! inside the frame, that no two overlap, and that the numbers make sense.

use serde::Deserialize;
use uuid::Uuid;

use super::axes::AxisMap;
use crate::bytes::Endian;
use crate::checksum::Checksum;

/// An unsigned counter or clock in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum WordType {
    /// One byte.
    U8,
    /// Two bytes.
    U16,
    /// Three bytes.
    U24,
    /// Four bytes.
    U32,
    /// Eight bytes.
    U64,
}

impl WordType {
    /// Bytes it takes.
    #[must_use]
    pub const fn width(self) -> usize {
        match self {
            Self::U8 => 1,
            Self::U16 => 2,
            Self::U24 => 3,
            Self::U32 => 4,
            Self::U64 => 8,
        }
    }

    /// Bits after which it rolls over.
    #[must_use]
    pub const fn bits(self) -> u32 {
        self.width() as u32 * 8
    }
}

/// How a reading is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum NumberType {
    /// Signed, one byte.
    I8,
    /// Signed, two bytes.
    I16,
    /// Signed, three bytes.
    I24,
    /// Signed, four bytes.
    I32,
    /// Unsigned, one byte.
    U8,
    /// Unsigned, two bytes.
    U16,
    /// Unsigned, three bytes.
    U24,
    /// IEEE 754 single precision.
    F32,
    /// IEEE 754 double precision.
    F64,
}

impl NumberType {
    /// Bytes it takes.
    #[must_use]
    pub const fn width(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I24 | Self::U24 => 3,
            Self::I32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }

    /// Whether readings are whole counts.
    #[must_use]
    pub const fn is_integer(self) -> bool {
        !matches!(self, Self::F32 | Self::F64)
    }

    /// Whether negative counts can be written as they are.
    #[must_use]
    pub const fn is_signed(self) -> bool {
        !matches!(self, Self::U8 | Self::U16 | Self::U24)
    }

    /// Smallest and largest number that can be written.
    pub(super) fn bounds(self) -> (i64, i64) {
        let bits = self.width() as u32 * 8;
        match self {
            Self::U8 | Self::U16 | Self::U24 => (0, (1_i64 << bits) - 1),
            Self::I8 | Self::I16 | Self::I24 | Self::I32 => {
                (-(1_i64 << (bits - 1)), (1_i64 << (bits - 1)) - 1)
            }
            Self::F32 | Self::F64 => (i64::MIN, i64::MAX),
        }
    }
}

/// Bytes that every frame must have at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeaderBytes {
    pub(crate) at: usize,
    pub(crate) bytes: Vec<u8>,
}

/// How many samples a frame holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SampleNumber {
    /// Always as many.
    Fixed(usize),
    /// A byte of the frame says so.
    CountByte {
        /// The byte's offset.
        at: usize,
    },
    /// As many as its length has room for.
    ByLength,
}

/// What a frame's counter counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// Samples: the counter is that of the frame's first sample.
    Samples,
    /// Notifications, each with the same number of samples.
    Notifications,
}

/// Where and how a frame's counter is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CounterField {
    pub(crate) at: usize,
    pub(crate) word: WordType,
    pub(crate) counts: Counts,
}

/// Where and how a frame's time is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimestampField {
    pub(crate) at: usize,
    pub(crate) word: WordType,
    pub(crate) tick_s: f64,
    pub(crate) of_last: bool,
    pub(crate) tolerance_ppm: f64,
}

/// The checksum at a frame's end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChecksumField {
    pub(crate) kind: Checksum,
    pub(crate) from: usize,
    pub(crate) endian: Endian,
}

/// Three axes of one quantity within a sample.
#[derive(Debug, Clone, PartialEq)]
pub struct TripleLayout {
    /// Offsets of the sent x, y, z from the sample's first byte.
    pub(crate) at: [usize; 3],
    pub(crate) number: NumberType,
    /// The number that stands for zero.
    pub(crate) zero: i64,
    /// When all three axes hold one of these as sent, the sensor had nothing to say.
    pub(crate) no_data: Vec<f64>,
    pub(crate) axes: AxisMap,
    /// SI units per count (or per sent unit, for floats).
    pub(crate) scale_si: f64,
    /// The count (or sent value) from which on a reading is saturated; infinite if there is none.
    pub(crate) limit: f64,
}

impl TripleLayout {
    /// SI units per count: m/s² or rad/s; for floats per number sent.
    #[must_use]
    pub const fn scale_si(&self) -> f64 {
        self.scale_si
    }

    /// The largest reading that is not saturated, m/s² or rad/s; infinite if none is known.
    #[must_use]
    pub fn range_si(&self) -> f64 {
        self.limit * self.scale_si
    }

    /// How the numbers are written.
    #[must_use]
    pub const fn number(&self) -> NumberType {
        self.number
    }
}

/// One characteristic that notifies samples: the whole layout of its frames.
#[derive(Debug, Clone, PartialEq)]
pub struct StreamLayout {
    pub(crate) characteristic: Uuid,
    pub(crate) service: Option<Uuid>,
    pub(crate) endian: Endian,
    /// Every frame's length where it does not follow from the number of samples.
    pub(crate) length: Option<usize>,
    pub(crate) header: Vec<HeaderBytes>,
    pub(crate) samples_at: usize,
    pub(crate) sample_size: usize,
    pub(crate) number: SampleNumber,
    pub(crate) at_most: usize,
    pub(crate) usual: usize,
    pub(crate) counter: Option<CounterField>,
    pub(crate) timestamp: Option<TimestampField>,
    pub(crate) checksum: Option<ChecksumField>,
    pub(crate) accel: Option<TripleLayout>,
    pub(crate) gyro: Option<TripleLayout>,
}

impl StreamLayout {
    /// The characteristic to subscribe to.
    #[must_use]
    pub const fn characteristic(&self) -> Uuid {
        self.characteristic
    }

    /// The service the characteristic belongs to, if the profile says so.
    #[must_use]
    pub const fn service(&self) -> Option<Uuid> {
        self.service
    }

    /// Whether the frames show that one is missing: by a counter, or by the sensor's own time.
    #[must_use]
    pub const fn counts_losses(&self) -> bool {
        self.counter.is_some() || self.timestamp.is_some()
    }

    /// How many samples a frame holds.
    #[must_use]
    pub const fn number(&self) -> SampleNumber {
        self.number
    }

    /// The most samples a frame may hold.
    #[must_use]
    pub const fn at_most(&self) -> usize {
        self.at_most
    }

    /// How many samples a frame usually holds.
    #[must_use]
    pub const fn usual(&self) -> usize {
        self.usual
    }

    /// How the accelerometer's axes are written, if they are in this stream.
    #[must_use]
    pub const fn accel(&self) -> Option<&TripleLayout> {
        self.accel.as_ref()
    }

    /// How the gyroscope's axes are written, if they are in this stream.
    #[must_use]
    pub const fn gyro(&self) -> Option<&TripleLayout> {
        self.gyro.as_ref()
    }

    /// Seconds per tick of the frame's own time, if it carries one.
    #[must_use]
    pub fn tick_s(&self) -> Option<f64> {
        self.timestamp.map(|timestamp| timestamp.tick_s)
    }

    /// Whether the frame's own time is that of its last sample; else it is that of its first.
    #[must_use]
    pub fn stamps_last(&self) -> bool {
        self.timestamp.is_some_and(|timestamp| timestamp.of_last)
    }

    /// How many samples a frame of at most `room` bytes usually holds; the shortest frame's length
    /// where that does not fit.
    pub(super) fn fitting(&self, room: usize) -> Result<usize, usize> {
        let fewest = match self.number {
            SampleNumber::Fixed(fixed) => fixed,
            SampleNumber::CountByte { .. } | SampleNumber::ByLength => 1,
        };
        let most = self.usual.max(fewest);
        let fits = |number: &usize| self.frame_length(*number) <= room;
        (fewest..=most).rev().find(fits).ok_or_else(|| self.frame_length(fewest))
    }

    /// The length of a frame with `number` samples, bytes.
    #[must_use]
    pub fn frame_length(&self, number: usize) -> usize {
        let samples = number.saturating_mul(self.sample_size);
        self.length.unwrap_or_else(|| {
            self.samples_at.saturating_add(samples).saturating_add(self.checksum_width())
        })
    }

    pub(crate) fn checksum_width(&self) -> usize {
        self.checksum.map_or(0, |checksum| checksum.kind.width())
    }
}
