//! How fast visit time runs. The one place where a source waits for the clock.

use std::time::Duration;

use crate::clock::Monotonic;

/// How fast visit time runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pace {
    /// A virtual clock: as fast as the machine allows.
    Fast,
    /// So many seconds of visit time in one second; 1 is real time.
    Times(f64),
}

impl Pace {
    /// Real time.
    pub const REAL: Self = Self::Times(1.0);

    /// Whether time is virtual.
    #[must_use]
    pub fn is_fast(self) -> bool {
        self == Self::Fast
    }
}

/// Shorter waits than this are not worth a sleep: the runtime's timer counts milliseconds.
const SHORTEST_S: f64 = 0.001;

/// Waits for moments of visit time; its clock starts with it.
#[derive(Debug)]
pub struct Pacer {
    pace: Pace,
    start_s: f64,
    clock: Monotonic,
}

impl Pacer {
    /// Starts visit time now, at `start_s`.
    #[must_use]
    pub fn start(pace: Pace, start_s: f64) -> Self {
        Self { pace, start_s, clock: Monotonic::start() }
    }

    /// Waits until visit time has come; at once, where it is over or virtual.
    pub async fn until(&self, time_s: f64) {
        let Pace::Times(speed) = self.pace else {
            return;
        };
        let wait_s = (time_s - self.start_s) / speed - self.clock.now_s();
        if wait_s >= SHORTEST_S {
            // What is further away than a duration can say never comes.
            let wait = Duration::try_from_secs_f64(wait_s).unwrap_or(Duration::MAX);
            tokio::time::sleep(wait).await;
        }
    }
}
