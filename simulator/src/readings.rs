//! One sensor's readings, and which of them arrive.

use std::sync::Arc;

use endarc_protocol::profile::{Profile, StreamLayout, TripleLayout};
use endarc_protocol::sample::{Sample, Values};
use endarc_protocol::words::SensorRole;

use crate::clock::{Moment, SensorClock};
use crate::imu::{Imu, Resolution};
use crate::link::Losses;
use crate::motion::Motion;

/// One reading of one sensor.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    /// Counted from 0.
    pub(crate) number: u64,
    pub(crate) moment: Moment,
    pub(crate) values: Values,
}

/// All readings of one sensor that are sent: a last frame that would not be full is not.
#[derive(Debug)]
pub(crate) struct Readings {
    motion: Arc<Motion>,
    role: SensorRole,
    clock: SensorClock,
    imu: Imu,
    number: u64,
    end: u64,
}

impl Readings {
    pub(crate) fn new(
        motion: Arc<Motion>,
        role: SensorRole,
        clock: SensorClock,
        imu: Imu,
        end: u64,
    ) -> Self {
        Self { motion, role, clock, imu, number: 0, end }
    }
}

impl Iterator for Readings {
    type Item = Reading;

    fn next(&mut self) -> Option<Reading> {
        if self.number >= self.end {
            return None;
        }
        let number = self.number;
        self.number += 1;
        let moment = self.clock.moment(number);
        let felt = self.motion.felt(self.role, moment.visit_s);
        Some(Reading { number, moment, values: self.imu.read(&felt) })
    }
}

/// The samples of a sensor that arrive, on the common clock.
#[derive(Debug)]
pub(crate) struct Arriving {
    readings: Readings,
    streams: Vec<Stream>,
}

/// One stream's frames as far as their loss goes.
#[derive(Debug)]
struct Stream {
    per_frame: u64,
    losses: Losses,
    lost: bool,
}

impl Arriving {
    pub(crate) fn new(readings: Readings, streams: impl Iterator<Item = (u64, Losses)>) -> Self {
        let streams =
            streams.map(|(per_frame, losses)| Stream { per_frame, losses, lost: false }).collect();
        Self { readings, streams }
    }
}

impl Iterator for Arriving {
    type Item = Sample;

    fn next(&mut self) -> Option<Sample> {
        loop {
            let reading = self.readings.next()?;
            for stream in &mut self.streams {
                if reading.number.is_multiple_of(stream.per_frame) {
                    stream.lost = stream.losses.next_is_lost();
                }
            }
            // A sample of which one half is lost is no sample.
            if !self.streams.iter().any(|stream| stream.lost) {
                return Some(Sample::at(reading.moment.visit_s, reading.values));
            }
        }
    }
}

/// Samples in each frame of a stream.
pub(crate) fn per_frame(stream: &StreamLayout) -> u64 {
    stream.usual().max(1) as u64
}

/// The number of samples, of so many taken, that fill frames of every stream.
pub(crate) fn whole_frames(profile: &Profile, taken: u64) -> u64 {
    let full = |stream| taken - taken % per_frame(stream);
    profile.streams().iter().map(full).min().unwrap_or(taken)
}

/// The steps and ranges in which a profile sends accelerometer and gyroscope.
pub(crate) fn resolutions(profile: &Profile) -> (Resolution, Resolution) {
    (resolution(profile.accel()), resolution(profile.gyro()))
}

fn resolution(triple: Option<&TripleLayout>) -> Resolution {
    let counted = triple.filter(|triple| triple.number().is_integer());
    Resolution {
        step: counted.map_or(0.0, TripleLayout::scale_si),
        limit: triple.map_or(f64::INFINITY, TripleLayout::range_si),
    }
}
