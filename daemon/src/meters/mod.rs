//! What is measured of the program while it runs: how long the data's way takes, what it costs, and
//! what became of each sensor's samples. Shared by the tasks that measure and by whoever shows it.
//!
//! Measuring takes no memory per sample and holds nobody up: each lock is held for as long as a
//! number takes to be counted.

mod latency;
mod process;
mod shapes;

use std::sync::{Arc, Mutex, PoisonError};

use crate::clock::Monotonic;
use latency::Latency;

pub use shapes::{Process, SensorStatus, Status, Way, WayLatency};

/// The meters of a running daemon; clones are the same ones.
#[derive(Debug, Clone)]
pub struct Meters(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    clock: Monotonic,
    ways: [Mutex<Latency>; Way::ALL.len()],
    sensors: Mutex<Vec<SensorStatus>>,
}

impl Meters {
    /// Fresh ones; the daemon's own clock starts with them.
    #[must_use]
    pub fn start() -> Self {
        Self(Arc::new(Shared {
            clock: Monotonic::start(),
            ways: Way::ALL.map(|way| Mutex::new(Latency::new(way))),
            sensors: Mutex::new(Vec::new()),
        }))
    }

    /// The daemon's own clock: what latencies are counted on.
    #[must_use]
    pub fn clock(&self) -> Monotonic {
        self.0.clock
    }

    /// Counts that what came at `since_s`, on the daemon's own clock, has got so far now.
    pub fn reached(&self, way: Way, since_s: f64) {
        self.reached_at(way, since_s, self.0.clock.now_s());
    }

    /// The same at a moment that is known already.
    pub fn reached_at(&self, way: Way, since_s: f64, now_s: f64) {
        let [decoded, angle, page, stored, kept] = &self.0.ways;
        let latency = match way {
            Way::Decoded => decoded,
            Way::Angle => angle,
            Way::Page => page,
            Way::Stored => stored,
            Way::Kept => kept,
        };
        latency.lock().unwrap_or_else(PoisonError::into_inner).record(now_s - since_s);
    }

    /// What became of each sensor's samples by now.
    pub fn sensors(&self, sensors: Vec<SensorStatus>) {
        *self.0.sensors.lock().unwrap_or_else(PoisonError::into_inner) = sensors;
    }

    /// All that was measured so far.
    #[must_use]
    pub fn status(&self) -> Status {
        let told = |latency: &Mutex<Latency>| {
            latency.lock().unwrap_or_else(PoisonError::into_inner).told()
        };
        Status {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            up_s: self.0.clock.now_s(),
            latencies: self.0.ways.iter().map(told).collect(),
            process: process::measured(),
            sensors: self.0.sensors.lock().unwrap_or_else(PoisonError::into_inner).clone(),
        }
    }

    /// Writes the latencies to the log.
    pub fn log(&self) {
        for WayLatency { way, count, p50_ms, p99_ms, max_ms } in self.status().latencies {
            if count > 0 {
                tracing::info!(%way, count, p50_ms, p99_ms, max_ms, "latency");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_way_is_counted_by_itself() {
        let meters = Meters::start();
        for (place, way) in Way::ALL.into_iter().enumerate() {
            for _ in 0..=place {
                meters.clone().reached_at(way, 1.0, 1.25);
            }
        }
        let status = meters.status();
        let counts: Vec<(Way, u64)> =
            status.latencies.iter().map(|one| (one.way, one.count)).collect();
        let expected: Vec<(Way, u64)> = Way::ALL.into_iter().zip(1..).collect();
        assert_eq!(counts, expected);
        for latency in status.latencies {
            let ms = latency.p50_ms.unwrap();
            assert!((ms - 250.0).abs() < 0.5, "{ms}");
        }
    }
}
