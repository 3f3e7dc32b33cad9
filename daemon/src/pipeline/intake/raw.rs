//! Cutting what a sensor sent into chunks: its own counts where it sends counts, else values.

use endarc_protocol::profile::{NumberType, Profile, TripleLayout};
use endarc_protocol::sample::Sample;
use endarc_protocol::stream::Reading;
use endarc_protocol::words::SensorRole;

use crate::pipeline::rows::STRAP_EPOCH;
use crate::store::chunk::{CountReading, Scale};
use crate::store::rows::RawChunk;
use crate::store::{Chunker, VisitId};

/// One sensor's chunks.
#[derive(Debug)]
pub(super) struct Raw {
    visit: VisitId,
    role: SensorRole,
    scale: Option<Scale>,
    counter_epoch: u32,
    chunker: Chunkers,
}

#[derive(Debug)]
enum Chunkers {
    Counts(Chunker<CountReading>),
    Values(Chunker<Sample>),
}

impl Raw {
    pub(super) fn new(visit: VisitId, role: SensorRole, scale: Option<Scale>) -> Self {
        let chunker = chunker(visit, role, scale, 0);
        Self { visit, role, scale, counter_epoch: 0, chunker }
    }

    /// Adds a reading of a stream; gives the chunk before it when that is full.
    pub(super) fn reading(&mut self, reading: &Reading) -> Option<RawChunk> {
        match (&mut self.chunker, reading.counts) {
            (Chunkers::Counts(chunker), Some([ax, ay, az, gx, gy, gz])) => {
                chunker.push(CountReading {
                    time_s: reading.sample.time_s,
                    counter: reading.counter,
                    ticks: reading.ticks,
                    accel: [ax, ay, az],
                    gyro: [gx, gy, gz],
                    flags: reading.sample.flags,
                })
            }
            (Chunkers::Values(chunker), _) => chunker.push(reading.sample),
            // A profile with a scale always gives counts.
            (Chunkers::Counts(_), None) => None,
        }
    }

    /// Adds a sample that came without counts; gives the chunk before it when that is full.
    pub(super) fn sample(&mut self, sample: Sample) -> Option<RawChunk> {
        match &mut self.chunker {
            Chunkers::Values(chunker) => chunker.push(sample),
            // A sensor with counts sends notifications, not samples.
            Chunkers::Counts(_) => None,
        }
    }

    /// The sensor's counter begins anew: gives the last chunk of the epoch before.
    pub(super) fn new_epoch(&mut self) -> Option<RawChunk> {
        let last = self.flush();
        self.counter_epoch += 1;
        self.chunker = chunker(self.visit, self.role, self.scale, self.counter_epoch);
        last
    }

    /// Whatever comes from now on is of this role; what was collected was given before.
    pub(super) const fn wear(&mut self, role: SensorRole) {
        self.role = role;
        match &mut self.chunker {
            Chunkers::Counts(chunker) => chunker.wear(role),
            Chunkers::Values(chunker) => chunker.wear(role),
        }
    }

    /// Gives what has been collected.
    pub(super) fn flush(&mut self) -> Option<RawChunk> {
        match &mut self.chunker {
            Chunkers::Counts(chunker) => chunker.take(),
            Chunkers::Values(chunker) => chunker.take(),
        }
    }
}

const fn chunker(
    visit: VisitId,
    role: SensorRole,
    scale: Option<Scale>,
    counter_epoch: u32,
) -> Chunkers {
    match scale {
        Some(scale) => {
            Chunkers::Counts(Chunker::new(visit, role, STRAP_EPOCH, counter_epoch, scale))
        }
        None => Chunkers::Values(Chunker::new(visit, role, STRAP_EPOCH, counter_epoch, ())),
    }
}

/// What a count of a sensor is worth; `None` where it sends floats.
pub(in crate::pipeline) fn scale(profile: &Profile) -> Option<Scale> {
    let counts = |triple: &&TripleLayout| triple.number() != NumberType::F32;
    let streams = || profile.streams().iter();
    let accel = streams().find_map(|stream| stream.accel()).filter(counts)?;
    let gyro = streams().find_map(|stream| stream.gyro()).filter(counts)?;
    Some(Scale { accel_m_s2_per_count: accel.scale_si(), gyro_rad_s_per_count: gyro.scale_si() })
}
