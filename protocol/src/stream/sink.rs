//! What outlives an epoch: the counters, the last sample's time, and the hole since.

use super::output::{Counters, Gap, GapCause, Output, Reading};

#[derive(Debug, Clone, Default)]
pub(super) struct Sink {
    counters: Counters,
    last_s: Option<f64>,
    hole: Hole,
}

/// What is missing since the last reading.
#[derive(Debug, Clone, Copy, Default)]
struct Hole {
    lost: u64,
    no_data: u64,
    paused: bool,
    new_epoch: Option<GapCause>,
}

impl Hole {
    fn cause(self) -> Option<GapCause> {
        let missing = match (self.lost, self.no_data) {
            (0, 0) => self.paused.then_some(GapCause::Pause),
            (0, _) => Some(GapCause::NoData),
            _ => Some(GapCause::Lost),
        };
        self.new_epoch.or(missing)
    }
}

impl Sink {
    pub(super) const fn counters(&self) -> Counters {
        self.counters
    }

    pub(super) const fn counters_mut(&mut self) -> &mut Counters {
        &mut self.counters
    }

    /// The time of the last reading, s; before the first, earlier than all.
    pub(super) fn last_s(&self) -> f64 {
        self.last_s.unwrap_or(f64::NEG_INFINITY)
    }

    pub(super) const fn lose(&mut self, samples: u64) {
        self.counters.lost += samples;
        self.hole.lost += samples;
    }

    pub(super) const fn no_data(&mut self) {
        self.counters.no_data += 1;
        self.hole.no_data += 1;
    }

    pub(super) const fn pause(&mut self) {
        self.hole.paused = true;
    }

    pub(super) const fn new_epoch(&mut self, cause: GapCause) {
        self.hole.new_epoch = Some(cause);
    }

    /// Hands out a reading, and before it the gap that it ends.
    pub(super) fn reading(&mut self, reading: Reading, out: &mut Vec<Output>) {
        let to_s = reading.sample.time_s;
        if let (Some(from_s), Some(cause)) = (self.last_s, self.hole.cause()) {
            out.push(Output::Gap(Gap { from_s, to_s, lost: self.hole.lost, cause }));
        }
        self.hole = Hole::default();
        self.last_s = Some(to_s);
        self.counters.received += 1;
        let flags = reading.sample.flags;
        self.counters.saturated += u64::from(flags.accel_saturated || flags.gyro_saturated);
        out.push(Output::Reading(reading));
    }
}
