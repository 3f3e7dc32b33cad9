//! Waiting for something to happen, but not for ever.

use std::time::{Duration, Instant};

/// A moment by which something must have happened.
#[derive(Debug, Clone, Copy)]
pub struct Deadline(Instant);

/// A stop-watch, for figures that are printed.
#[derive(Debug, Clone, Copy)]
pub struct Watch(Instant);

impl Deadline {
    /// So many seconds from now.
    #[must_use]
    pub fn after_s(seconds: u64) -> Self {
        Self(now() + Duration::from_secs(seconds))
    }

    /// What is left until then; zero once it has passed.
    #[must_use]
    pub fn left(self) -> Duration {
        self.0.saturating_duration_since(now())
    }
}

impl Watch {
    /// Starts now.
    #[must_use]
    pub fn start() -> Self {
        Self(now())
    }

    /// Seconds since the start.
    #[must_use]
    pub fn seconds(self) -> f64 {
        now().duration_since(self.0).as_secs_f64()
    }
}

#[expect(clippy::disallowed_methods, reason = "a test waits in the system's time")]
fn now() -> Instant {
    Instant::now()
}
