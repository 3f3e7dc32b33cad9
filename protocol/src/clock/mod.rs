//! A sensor's clock on the host's: one model per sensor and epoch.
//!
//! Arrival times say little about sample times: notifications wait, and come in bursts. But none
//! comes before it was sent, so the lower envelope of arrival over the sensor's own time shows
//! offset and skew. Samples are then placed one after the other: time never steps back, and
//! corrections are worked in slowly.
//!
//! What no envelope can see is the part of the delay that every notification of the last minutes
//! had. A link that hands over every 30 ms and a sensor that sends every 50 ms meet at their best
//! once in a while only, and until then up to 10 ms of delay look like an offset.

mod envelope;
mod sensor_time;

pub use envelope::{Envelope, Limits};
pub use sensor_time::SensorTime;

/// An error between clocks is worked off with this time constant, s.
const SETTLE_S: f64 = 5.0;

/// A correction changes the spacing of samples by at most this share, so that no angle that is
/// integrated over it is off by more.
const LARGEST_CORRECTION: f64 = 0.01;

/// The smallest step of time between two samples that the sensor puts at the same moment, s.
const SMALLEST_STEP_S: f64 = 2e-6;

/// Places samples of one epoch in host time, online and in constant memory.
#[derive(Debug, Clone)]
pub struct HostClock {
    envelope: Envelope,
    /// No sample may be placed at or before this: the last one of the epoch before.
    floor_s: f64,
    placed: Option<Placed>,
}

#[derive(Debug, Clone, Copy)]
struct Placed {
    sensor_s: f64,
    host_s: f64,
}

impl HostClock {
    /// Starts an epoch; every sample of it will lie after `floor_s`.
    #[must_use]
    pub fn start(limits: Limits, floor_s: f64) -> Self {
        Self { envelope: Envelope::new(limits), floor_s, placed: None }
    }

    /// Learns from a notification: the sensor time of its last sample, and when it arrived.
    pub fn observe(&mut self, sensor_s: f64, arrival_s: f64) {
        self.envelope.add(sensor_s, arrival_s);
    }

    /// The host time at which a sample of this sensor time would arrive undelayed, as far as is
    /// known; infinitely early before anything was observed.
    #[must_use]
    pub fn undelayed_s(&self, sensor_s: f64) -> f64 {
        self.envelope.host_s(sensor_s).unwrap_or(f64::NEG_INFINITY)
    }

    /// What is known of the sensor's clock.
    #[must_use]
    pub const fn envelope(&self) -> &Envelope {
        &self.envelope
    }

    /// The host time of a sample, s. Samples must come in order; each is placed after the one
    /// before it.
    pub fn place(&mut self, sensor_s: f64) -> f64 {
        let target_s = self.envelope.host_s(sensor_s).unwrap_or(self.floor_s);
        let host_s = match self.placed {
            None => target_s.max(self.floor_s + SMALLEST_STEP_S),
            Some(before) => {
                let step_s = (sensor_s - before.sensor_s).max(SMALLEST_STEP_S);
                let expected_s = before.host_s + step_s * self.envelope.slope();
                let settle = (step_s / SETTLE_S).min(1.0);
                let most_s = step_s * LARGEST_CORRECTION;
                expected_s + ((target_s - expected_s) * settle).clamp(-most_s, most_s)
            }
        };
        self.placed = Some(Placed { sensor_s, host_s });
        host_s
    }
}

#[cfg(test)]
mod tests;
