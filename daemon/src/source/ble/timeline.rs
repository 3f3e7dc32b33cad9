//! Visit time of what a radio brings.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use crate::clock::{Monotonic, Sleep};

/// Visit time: the monotonic clock, and what the computer slept through, which that clock may not
/// count. It never goes back.
#[derive(Debug, Clone)]
pub(crate) struct Timeline {
    clock: Monotonic,
    slept_us: Arc<AtomicU64>,
}

impl Timeline {
    /// Begins where the clock does.
    pub(crate) fn new(clock: Monotonic) -> Self {
        Self { clock, slept_us: Arc::default() }
    }

    /// Now, s.
    pub(crate) fn now_s(&self) -> f64 {
        self.clock.now_s() + self.slept_us.load(Ordering::Relaxed) as f64 * 1e-6
    }

    /// Takes notice of how long the computer has slept in all; gives what is new, s.
    pub(crate) fn slept(&self, sleep: &Sleep) -> f64 {
        // The cast saturates at both ends.
        let slept_us = (sleep.slept_s() * 1e6) as u64;
        let before_us = self.slept_us.fetch_max(slept_us, Ordering::Relaxed);
        slept_us.saturating_sub(before_us) as f64 * 1e-6
    }
}

/// When a sensor's newest notification came: written by the task that drains its stream, read by
/// whoever watches.
#[derive(Debug, Default)]
pub(crate) struct Heard {
    /// µs of visit time, from 1; 0 before the first.
    at_us: AtomicU64,
}

impl Heard {
    /// A notification came.
    pub(crate) fn mark(&self, at_s: f64) {
        self.at_us.store((at_s * 1e6) as u64 + 1, Ordering::Relaxed);
    }

    /// When the newest came, s; `None` before the first.
    pub(crate) fn at_s(&self) -> Option<f64> {
        let at_us = self.at_us.load(Ordering::Relaxed).checked_sub(1)?;
        Some(at_us as f64 * 1e-6)
    }
}
