//! Codec 2: f64 values, shuffled by byte.
//!
//! Payload: times, then for each of accel x y z, gyro x y z the first bytes of all values, their
//! second bytes and so on (little-endian), then one byte of flags each. Bytes of the same weight
//! are alike, which is what compresses.

use endarc_protocol::sample::Sample;

use super::columns::{Columns, VARINT_BYTES_MAX, put_times};
use super::{ChunkError, flags_from_byte, flags_to_byte};

/// Most payload bytes one reading can take: the time, six f64, flags.
pub(super) const READING_BYTES_MAX: usize = VARINT_BYTES_MAX + 6 * 8 + 1;

pub(super) fn encode(samples: &[Sample]) -> Vec<u8> {
    let mut out = Vec::with_capacity(samples.len() * READING_BYTES_MAX);
    let times_s: Vec<f64> = samples.iter().map(|sample| sample.time_s).collect();
    put_times(&mut out, &times_s);
    for axis in 0..6 {
        let bytes: Vec<[u8; 8]> =
            samples.iter().map(|sample| axes(sample)[axis].to_le_bytes()).collect();
        for place in 0..8 {
            out.extend(bytes.iter().map(|value| value[place]));
        }
    }
    out.extend(samples.iter().map(|sample| flags_to_byte(sample.flags)));
    out
}

pub(super) fn decode(payload: &[u8], count: usize) -> Result<Vec<Sample>, ChunkError> {
    let mut columns = Columns::new(payload, count);
    let mut samples: Vec<Sample> = columns
        .times_s()?
        .into_iter()
        .map(|time_s| Sample { time_s, ..Sample::default() })
        .collect();
    for axis in 0..6 {
        let mut values = vec![[0_u8; 8]; count];
        for place in 0..8 {
            for (value, byte) in values.iter_mut().zip(columns.bytes(count)?) {
                value[place] = *byte;
            }
        }
        for (sample, value) in samples.iter_mut().zip(values) {
            let value = f64::from_le_bytes(value);
            match axis {
                0..3 => sample.accel_m_s2[axis] = value,
                _ => sample.gyro_rad_s[axis - 3] = value,
            }
        }
    }
    for (sample, byte) in samples.iter_mut().zip(columns.bytes(count)?) {
        sample.flags = flags_from_byte(*byte)?;
    }
    columns.finish()?;
    Ok(samples)
}

const fn axes(sample: &Sample) -> [f64; 6] {
    let ([ax, ay, az], [gx, gy, gz]) = (sample.accel_m_s2, sample.gyro_rad_s);
    [ax, ay, az, gx, gy, gz]
}
