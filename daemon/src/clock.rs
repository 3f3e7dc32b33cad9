//! The only file that reads the system's clocks.
//!
//! Everything else is handed its time: visit time comes with each frame from the source, and a
//! wall-clock time is only ever a label.

#![expect(clippy::disallowed_methods, reason = "this is the one place that reads the clocks")]

use jiff::ZonedDateTime;
use tokio::time::Instant;

/// A monotonic clock that starts at zero. In tests that stop the runtime's time, it stops too.
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

/// A clock that all processes of this computer read alike, s: one may tell another when something
/// was. `None` where the system has none.
#[must_use]
pub fn shared_s() -> Option<f64> {
    shared()
}

#[cfg(target_os = "linux")]
fn shared() -> Option<f64> {
    Some(system_s(rustix::time::ClockId::Monotonic))
}

#[cfg(not(target_os = "linux"))]
const fn shared() -> Option<f64> {
    None
}

/// How long the computer has slept: what the monotonic clock leaves out.
#[derive(Debug, Clone, Copy)]
pub struct Sleep {
    start_s: f64,
}

impl Sleep {
    /// Counts from here on.
    #[must_use]
    pub fn start() -> Self {
        Self { start_s: asleep_s() }
    }

    /// How long it has slept since the start, s.
    #[must_use]
    pub fn slept_s(&self) -> f64 {
        asleep_s() - self.start_s
    }
}

/// Boot clock minus monotonic clock, s: it grows while the computer sleeps, and at no other time.
#[cfg(target_os = "linux")]
fn asleep_s() -> f64 {
    use rustix::time::ClockId;
    system_s(ClockId::Boottime) - system_s(ClockId::Monotonic)
}

#[cfg(target_os = "linux")]
fn system_s(clock: rustix::time::ClockId) -> f64 {
    let time = rustix::time::clock_gettime(clock);
    time.tv_sec as f64 + time.tv_nsec as f64 * 1e-9
}

/// Elsewhere a sleep shows by the silence it leaves.
#[cfg(not(target_os = "linux"))]
const fn asleep_s() -> f64 {
    0.0
}

/// The wall-clock time with its zone, as a label: durations never come from it.
#[must_use]
pub fn wall() -> ZonedDateTime {
    ZonedDateTime::now()
}
