//! Codec 1: integer counts in columns of differences.
//!
//! Payload: times, counters, ticks (second differences), accel x y z, gyro x y z (differences),
//! one byte of flags each.

use super::columns::{
    Columns, VARINT_BYTES_MAX, put_differences, put_second_differences, put_times,
};
use super::{ChunkError, CountReading, flags_from_byte, flags_to_byte};

/// Most payload bytes one reading can take: three 64-bit columns, six of 33-bit differences, flags.
pub(super) const READING_BYTES_MAX: usize = 3 * VARINT_BYTES_MAX + 6 * 5 + 1;

pub(super) fn encode(readings: &[CountReading]) -> Vec<u8> {
    let mut out = Vec::with_capacity(readings.len() * 12);
    let times_s: Vec<f64> = readings.iter().map(|reading| reading.time_s).collect();
    put_times(&mut out, &times_s);
    put_second_differences(&mut out, readings.iter().map(|reading| reading.counter));
    put_second_differences(&mut out, readings.iter().map(|reading| reading.ticks));
    for axis in 0..3 {
        put_differences(&mut out, readings.iter().map(|reading| axis_of(reading.accel, axis)));
    }
    for axis in 0..3 {
        put_differences(&mut out, readings.iter().map(|reading| axis_of(reading.gyro, axis)));
    }
    out.extend(readings.iter().map(|reading| flags_to_byte(reading.flags)));
    out
}

pub(super) fn decode(payload: &[u8], count: usize) -> Result<Vec<CountReading>, ChunkError> {
    let mut columns = Columns::new(payload, count);
    let times_s = columns.times_s()?;
    let counters = columns.second_differences()?;
    let ticks = columns.second_differences()?;
    let accel = three(&mut columns, "accel")?;
    let gyro = three(&mut columns, "gyro")?;
    let flags = columns.bytes(count)?;
    columns.finish()?;
    (times_s.into_iter().zip(counters).zip(ticks))
        .zip(accel.into_iter().zip(gyro))
        .zip(flags)
        .map(|((((time_s, counter), ticks), (accel, gyro)), flags)| {
            let flags = flags_from_byte(*flags)?;
            Ok(CountReading { time_s, counter, ticks, accel, gyro, flags })
        })
        .collect()
}

fn three(columns: &mut Columns<'_>, column: &'static str) -> Result<Vec<[i32; 3]>, ChunkError> {
    let (x, y, z) =
        (columns.differences(column)?, columns.differences(column)?, columns.differences(column)?);
    Ok(x.into_iter().zip(y).zip(z).map(|((x, y), z)| [x, y, z]).collect())
}

/// `axis` is below 3 wherever this is called.
fn axis_of(values: [i32; 3], axis: usize) -> i64 {
    values.get(axis).copied().map_or(0, i64::from)
}
