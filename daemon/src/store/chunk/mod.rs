//! Packing raw samples: lossless to the bit, a few bytes per sample.
//!
//! A chunk holds consecutive readings of one sensor, either as the sensor's own integer counts or
//! as f64 values. A codec number stands beside the bytes and never changes its meaning; a better
//! packing gets the next number.

mod columns;
mod counts;
mod frame;
mod values;

use endarc_protocol::sample::{Flags, Sample};

/// Codec 1: integer counts, as differences in columns, compressed.
pub const CODEC_COUNTS: i64 = 1;
/// Codec 2: f64 values, shuffled by byte, compressed.
pub const CODEC_VALUES: i64 = 2;

/// Most readings in one chunk: above five minutes at 200 Hz. A reader holds one chunk at a time,
/// so this bounds its memory.
pub const READINGS_MAX: usize = 1 << 16;

/// What one count of a sensor is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Specific force per count, m/s².
    pub accel_m_s2_per_count: f64,
    /// Angular rate per count, rad/s.
    pub gyro_rad_s_per_count: f64,
}

/// One reading as the sensor sent it, placed in visit time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountReading {
    /// Visit time, s; strictly increasing within one sensor.
    pub time_s: f64,
    /// The sensor's sample counter, unwrapped within one counter epoch.
    pub counter: u64,
    /// The sensor's own clock, unwrapped within one counter epoch, in the profile's ticks.
    pub ticks: u64,
    /// Specific force along the right-handed sensor frame's axes, counts.
    pub accel: [i32; 3],
    /// Angular rate about the same axes, counts.
    pub gyro: [i32; 3],
    /// What the decoder noticed.
    pub flags: Flags,
}

impl CountReading {
    /// The sample these counts stand for: each count times its scale.
    #[must_use]
    pub fn to_sample(&self, scale: Scale) -> Sample {
        Sample {
            time_s: self.time_s,
            accel_m_s2: self.accel.map(|count| f64::from(count) * scale.accel_m_s2_per_count),
            gyro_rad_s: self.gyro.map(|count| f64::from(count) * scale.gyro_rad_s_per_count),
            flags: self.flags,
        }
    }
}

/// Consecutive readings of one sensor.
#[derive(Debug, Clone, PartialEq)]
pub enum Readings {
    /// As the sensor's integer counts.
    Counts {
        /// What a count is worth.
        scale: Scale,
        /// The readings, by time.
        readings: Vec<CountReading>,
    },
    /// As values, for sources that have no counts.
    Values(Vec<Sample>),
}

impl Readings {
    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        match self {
            Self::Counts { readings, .. } => readings.len(),
            Self::Values(samples) => samples.len(),
        }
    }

    /// Whether there are none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Visit time of the first and the last reading, s; `None` where there are none.
    #[must_use]
    pub fn span_s(&self) -> Option<(f64, f64)> {
        match self {
            Self::Counts { readings, .. } => {
                Some((readings.first()?.time_s, readings.last()?.time_s))
            }
            Self::Values(samples) => Some((samples.first()?.time_s, samples.last()?.time_s)),
        }
    }

    /// The scale, where there are counts.
    #[must_use]
    pub const fn scale(&self) -> Option<Scale> {
        match self {
            Self::Counts { scale, .. } => Some(*scale),
            Self::Values(_) => None,
        }
    }

    /// The codec that packs these readings.
    #[must_use]
    pub const fn codec(&self) -> i64 {
        match self {
            Self::Counts { .. } => CODEC_COUNTS,
            Self::Values(_) => CODEC_VALUES,
        }
    }

    /// The samples the readings stand for.
    #[must_use]
    pub fn into_samples(self) -> Vec<Sample> {
        match self {
            Self::Counts { scale, readings } => {
                readings.iter().map(|reading| reading.to_sample(scale)).collect()
            }
            Self::Values(samples) => samples,
        }
    }
}

/// Packs readings; [`decode`] with [`Readings::codec`], the scale and the count brings the very
/// same bits back.
///
/// # Errors
/// [`ChunkError::TooMany`] above [`READINGS_MAX`], [`ChunkError::Compression`] when memory is out.
pub fn encode(readings: &Readings) -> Result<Vec<u8>, ChunkError> {
    if readings.len() > READINGS_MAX {
        return Err(ChunkError::TooMany { count: readings.len() });
    }
    frame::compress(&match readings {
        Readings::Counts { readings, .. } => counts::encode(readings),
        Readings::Values(samples) => values::encode(samples),
    })
}

/// Unpacks what [`encode`] packed.
///
/// # Errors
/// Any [`ChunkError`]: bytes that were changed are noticed by a checksum and never read as data.
pub fn decode(
    codec: i64,
    scale: Option<Scale>,
    count: usize,
    bytes: &[u8],
) -> Result<Readings, ChunkError> {
    if count > READINGS_MAX {
        return Err(ChunkError::TooMany { count });
    }
    match (codec, scale) {
        (CODEC_COUNTS, Some(scale)) => {
            let payload = frame::decompress(bytes, count * counts::READING_BYTES_MAX)?;
            Ok(Readings::Counts { scale, readings: counts::decode(&payload, count)? })
        }
        (CODEC_COUNTS, None) => Err(ChunkError::NoScale),
        (CODEC_VALUES, _) => {
            let payload = frame::decompress(bytes, count * values::READING_BYTES_MAX)?;
            Ok(Readings::Values(values::decode(&payload, count)?))
        }
        _ => Err(ChunkError::UnknownCodec { codec }),
    }
}

/// Why a chunk cannot be packed or unpacked.
#[derive(Debug, thiserror::Error)]
pub enum ChunkError {
    /// More readings than a chunk may hold.
    #[error("{count} readings in one chunk: at most {READINGS_MAX} are allowed")]
    TooMany {
        /// How many.
        count: usize,
    },
    /// A codec of a newer release.
    #[error("unknown codec {codec}: the samples were written by a newer release of endarc")]
    UnknownCodec {
        /// Its number.
        codec: i64,
    },
    /// Counts without their scale.
    #[error("integer counts without a scale: the row is damaged")]
    NoScale,
    /// The compressed bytes are damaged (or memory is out).
    #[error("the compressed bytes cannot be read or made: {0}")]
    Compression(std::io::Error),
    /// The bytes inside do not hold what the row says.
    #[error("the bytes end too early or too late for {count} readings: the row is damaged")]
    Length {
        /// Readings the row says there are.
        count: usize,
    },
    /// A value inside is impossible.
    #[error("an impossible value stands in the column {column}: the row is damaged")]
    Value {
        /// Which column.
        column: &'static str,
    },
}

/// Flags as bits of a byte.
const fn flags_to_byte(flags: Flags) -> u8 {
    flags.accel_saturated as u8 | (flags.gyro_saturated as u8) << 1
}

fn flags_from_byte(byte: u8) -> Result<Flags, ChunkError> {
    if byte > 0b11 {
        return Err(ChunkError::Value { column: "flags" });
    }
    Ok(Flags { accel_saturated: byte & 1 != 0, gyro_saturated: byte & 2 != 0 })
}

#[cfg(test)]
mod tests;
