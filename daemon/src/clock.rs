//! The only file that reads the system's clocks.
//!
//! Everything else is handed its time: visit time comes with each frame from the source, and a
//! wall-clock time is only ever a label.

#![expect(clippy::disallowed_methods, reason = "this is the one place that reads the clocks")]

use std::time::Instant;

use jiff::ZonedDateTime;

/// A monotonic clock that starts at zero.
#[derive(Debug, Clone, Copy)]
pub struct Monotonic {
    start: Instant,
}

impl Monotonic {
    /// Starts a clock at zero.
    #[must_use]
    pub fn start() -> Self {
        Self { start: Instant::now() }
    }

    /// Seconds since the start.
    #[must_use]
    pub fn now_s(&self) -> f64 {
        self.start.elapsed().as_secs_f64()
    }
}

/// The wall-clock time with its zone, as a label: durations never come from it.
#[must_use]
pub fn wall() -> ZonedDateTime {
    ZonedDateTime::now()
}
