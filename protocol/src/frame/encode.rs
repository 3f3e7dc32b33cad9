//! Values to counts and bytes: what a sensor's firmware does, for the simulator and for tests.

use crate::bytes::{self, Endian};
use crate::profile::{Counts, NumberType, SampleNumber, StreamLayout, TripleLayout};
use crate::sample::Values;

/// What one notification is to carry.
#[derive(Debug, Clone, Copy)]
pub struct Outgoing<'a> {
    /// Counter of the first sample since the sensor started, not rolled over.
    pub counter: u64,
    /// The sensor's own clock in the profile's ticks, not rolled over: of the sample that the
    /// profile says it is of (the first, as a rule).
    pub ticks: u64,
    /// The readings, oldest first. What is not finite is written as "no data".
    pub samples: &'a [Values],
}

/// What cannot be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EncodeError {
    /// The frame cannot hold so many samples.
    #[error("{got} samples do not make a frame: it holds {at_least} to {at_most}")]
    SampleCount {
        /// Samples given.
        got: usize,
        /// The fewest a frame holds.
        at_least: usize,
        /// The most a frame holds.
        at_most: usize,
    },
    /// A value is not finite, and the profile has no marker for "no data".
    #[error("a value is not finite, and the profile gives no marker for that in no_data")]
    NotFinite,
    /// The counter is not a multiple of the samples a notification holds.
    #[error("the counter {counter} is not at the beginning of a notification of {number} samples")]
    CounterInsideFrame {
        /// The counter given.
        counter: u64,
        /// Samples in each notification.
        number: u64,
    },
}

impl StreamLayout {
    /// Writes one notification into `out`, which is cleared first: values are rounded to counts
    /// and clipped at the end of the range, counter and ticks roll over.
    ///
    /// # Errors
    /// [`EncodeError`]; `out` is then empty.
    pub fn encode(&self, frame: &Outgoing<'_>, out: &mut Vec<u8>) -> Result<(), EncodeError> {
        out.clear();
        let number = frame.samples.len();
        let at_least = match self.number {
            SampleNumber::Fixed(fixed) => fixed,
            SampleNumber::CountByte { .. } | SampleNumber::ByLength => 1,
        };
        if number < at_least || number > self.at_most {
            return Err(EncodeError::SampleCount { got: number, at_least, at_most: self.at_most });
        }
        let counter = self.raw_counter(frame)?;
        out.resize(self.frame_length(number), 0);
        let written = self.write(frame, counter, out);
        if written.is_err() {
            out.clear();
        }
        written
    }

    fn raw_counter(&self, frame: &Outgoing<'_>) -> Result<u64, EncodeError> {
        let number = frame.samples.len() as u64;
        match self.counter.map(|counter| counter.counts) {
            Some(Counts::Notifications) if frame.counter.is_multiple_of(number) => {
                Ok(frame.counter / number)
            }
            Some(Counts::Notifications) => {
                Err(EncodeError::CounterInsideFrame { counter: frame.counter, number })
            }
            Some(Counts::Samples) | None => Ok(frame.counter),
        }
    }

    /// Every place was checked when the profile was read, so no write can miss.
    fn write(&self, frame: &Outgoing<'_>, counter: u64, out: &mut [u8]) -> Result<(), EncodeError> {
        let mut put = |at, width, value| bytes::write(out, at, width, self.endian, value);
        if let SampleNumber::CountByte { at } = self.number {
            put(at, 1, frame.samples.len() as u64);
        }
        if let Some(field) = self.counter {
            put(field.at, field.word.width(), counter);
        }
        if let Some(field) = self.timestamp {
            put(field.at, field.word.width(), frame.ticks);
        }
        for header in &self.header {
            if let Some(place) = out.get_mut(header.at..header.at + header.bytes.len()) {
                place.copy_from_slice(&header.bytes);
            }
        }
        for (index, values) in frame.samples.iter().enumerate() {
            let start = self.samples_at + index * self.sample_size;
            let sample = out.get_mut(start..).unwrap_or_default();
            if let Some(accel) = &self.accel {
                accel.write(values.accel_m_s2, sample, self.endian)?;
            }
            if let Some(gyro) = &self.gyro {
                gyro.write(values.gyro_rad_s, sample, self.endian)?;
            }
        }
        if let Some(checksum) = self.checksum {
            let width = checksum.kind.width();
            let end = out.len().saturating_sub(width);
            let sum = checksum.kind.of(out.get(checksum.from..end).unwrap_or(&[]));
            bytes::write(out, end, width, checksum.endian, u64::from(sum));
        }
        Ok(())
    }
}

impl TripleLayout {
    fn write(
        &self,
        values: [f64; 3],
        sample: &mut [u8],
        endian: Endian,
    ) -> Result<(), EncodeError> {
        let sent = if values.iter().all(|value| value.is_finite()) {
            self.sent(values)
        } else {
            let marker = self.no_data.first().copied();
            let float = (!self.number.is_integer()).then_some(f64::NAN);
            [marker.or(float).ok_or(EncodeError::NotFinite)?; 3]
        };
        for (at, value) in self.at.into_iter().zip(sent) {
            bytes::write(sample, at, self.number.width(), endian, bits(value, self.number));
        }
        Ok(())
    }

    /// Rounds, clips and turns finite values into the numbers as sent.
    fn sent(&self, values: [f64; 3]) -> [f64; 3] {
        let counts = values.map(|value| {
            let count = value / self.scale_si;
            let count = if self.number.is_integer() { count.round() } else { count };
            count.clamp(-self.limit, self.limit)
        });
        let zero = self.zero as f64;
        let mut sent = self.axes.undo(counts).map(|count| count + zero);
        // A true reading must not look like "no data": move it by a count, towards zero.
        let [x, ..] = sent;
        let smallest = if self.number.is_integer() { 1.0 } else { 1e-6 * x.abs().max(1.0) };
        let step = if x > zero { -smallest } else { smallest };
        while self.no_data.iter().any(|marker| sent.iter().all(|value| value == marker)) {
            let [x, ..] = &mut sent;
            *x += step;
        }
        sent
    }
}

/// The bytes of a number that is already whole and in range where it must be.
const fn bits(value: f64, kind: NumberType) -> u64 {
    match kind {
        NumberType::F32 => (value as f32).to_bits() as u64,
        NumberType::F64 => value.to_bits(),
        _ => (value as i64).cast_unsigned(),
    }
}
