//! Radio time: seconds since the peripheral's start, perhaps faster than real ones.

use std::fmt;
use std::sync::Arc;
use std::time::Duration;

/// The clock that radio time is read from: seconds, never going back. The program that hosts the
/// peripheral brings its own.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> f64 + Send + Sync>);

impl Clock {
    /// The clock that a function reads.
    pub fn new(read_s: impl Fn() -> f64 + Send + Sync + 'static) -> Self {
        Self(Arc::new(read_s))
    }
}

impl fmt::Debug for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Clock")
    }
}

/// Waits for moments of radio time.
#[derive(Debug, Clone)]
pub(super) struct Pacer {
    clock: Clock,
    start_s: f64,
    speed: f64,
}

/// Shorter waits than this are not worth a sleep: the runtime's timer counts milliseconds.
const SHORTEST_S: f64 = 0.001;

impl Pacer {
    /// Starts radio time at zero, now; `speed` seconds of it pass in one.
    pub(super) fn start(clock: Clock, speed: f64) -> Self {
        let start_s = (clock.0)();
        Self { clock, start_s, speed }
    }

    /// Radio time now, s.
    pub(super) fn now_s(&self) -> f64 {
        ((self.clock.0)() - self.start_s) * self.speed
    }

    /// What the clock reads at a moment of radio time, s.
    pub(super) fn clock_s(&self, time_s: f64) -> f64 {
        self.start_s + time_s / self.speed
    }

    /// Waits until a moment of radio time; at once, where it is over.
    pub(super) async fn until(&self, time_s: f64) {
        let wait_s = (time_s - self.now_s()) / self.speed;
        if wait_s >= SHORTEST_S {
            // What is further away than a duration can say never comes.
            let wait = Duration::try_from_secs_f64(wait_s).unwrap_or(Duration::MAX);
            tokio::time::sleep(wait).await;
        }
    }
}
