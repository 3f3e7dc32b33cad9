//! Cutting one sensor's stream into chunks.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use super::VisitId;
use super::chunk::{CountReading, Readings, Scale};
use super::rows::RawChunk;

/// Length of a live chunk, s. A kill loses at most the chunk being filled and the one being
/// written; somewhat under a second keeps that within the second that is promised.
const CHUNK_S: f64 = 0.9;

/// Readings in a live chunk at most, whatever their times say.
const CHUNK_READINGS: usize = 4096;

/// What a chunk can be made of: [`Sample`]s, or [`CountReading`]s of one [`Scale`].
pub trait Reading: Copy {
    /// What all readings of a chunk share.
    type Shared: Copy;

    /// Visit time, s.
    fn time_s(&self) -> f64;

    /// The readings of a chunk.
    fn gather(shared: Self::Shared, readings: Vec<Self>) -> Readings;
}

impl Reading for Sample {
    type Shared = ();

    fn time_s(&self) -> f64 {
        self.time_s
    }

    fn gather((): (), readings: Vec<Self>) -> Readings {
        Readings::Values(readings)
    }
}

impl Reading for CountReading {
    type Shared = Scale;

    fn time_s(&self) -> f64 {
        self.time_s
    }

    fn gather(scale: Scale, readings: Vec<Self>) -> Readings {
        Readings::Counts { scale, readings }
    }
}

/// Collects the readings of one sensor and gives a chunk about every second. A new strapping, and
/// a counter that starts anew, take a new chunker.
#[derive(Debug)]
pub struct Chunker<R: Reading> {
    visit: VisitId,
    role: SensorRole,
    strap_epoch: u32,
    counter_epoch: u32,
    shared: R::Shared,
    filling: Vec<R>,
}

impl<R: Reading> Chunker<R> {
    /// An empty one; `shared` is `()` for samples, the scale for counts.
    #[must_use]
    pub const fn new(
        visit: VisitId,
        role: SensorRole,
        strap_epoch: u32,
        counter_epoch: u32,
        shared: R::Shared,
    ) -> Self {
        Self { visit, role, strap_epoch, counter_epoch, shared, filling: Vec::new() }
    }

    /// Whatever comes from now on is of the sensor worn in this role; what was filled is to be taken
    /// before.
    pub const fn wear(&mut self, role: SensorRole) {
        self.role = role;
    }

    /// Adds a reading; gives the chunk before it when that is full.
    pub fn push(&mut self, reading: R) -> Option<RawChunk> {
        let full = self.filling.len() >= CHUNK_READINGS
            || self
                .filling
                .first()
                .is_some_and(|first| reading.time_s() - first.time_s() >= CHUNK_S);
        let chunk = if full { self.take() } else { None };
        self.filling.push(reading);
        chunk
    }

    /// Gives what has been collected, full or not: at a gap, at the end of a phase, at the end.
    pub fn take(&mut self) -> Option<RawChunk> {
        if self.filling.is_empty() {
            return None;
        }
        Some(RawChunk {
            visit: self.visit,
            role: self.role,
            strap_epoch: self.strap_epoch,
            counter_epoch: self.counter_epoch,
            readings: R::gather(self.shared, std::mem::take(&mut self.filling)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reading_comes_out_once_and_in_order() {
        let mut chunker = Chunker::<Sample>::new(VisitId(1), SensorRole::Pelvis, 0, 0, ());
        let sample = |i: u32| Sample { time_s: f64::from(i) * 0.01, ..Sample::default() };
        let mut chunks: Vec<RawChunk> = (0..250).filter_map(|i| chunker.push(sample(i))).collect();
        chunks.extend(chunker.take());
        assert!(chunker.take().is_none());
        assert_eq!(
            chunks.iter().map(|chunk| chunk.readings.len()).collect::<Vec<_>>(),
            [90, 90, 70]
        );
        let times_s: Vec<f64> = chunks
            .into_iter()
            .flat_map(|chunk| chunk.readings.into_samples())
            .map(|sample| sample.time_s)
            .collect();
        assert_eq!(times_s, (0..250).map(|i| f64::from(i) * 0.01).collect::<Vec<_>>());
    }
}
