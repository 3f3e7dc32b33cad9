//! How far a sensor has turned in all: which of two sensors was moved.

use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

/// The length of the way that a sensor turned, whichever way it went.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Path {
    last_s: Option<f64>,
    turned_rad: f64,
}

impl Path {
    /// Takes the next accepted sample; gives the way so far, degrees.
    pub(super) fn push(&mut self, sample: &Sample) -> f64 {
        let step_s = self.last_s.map_or(0.0, |last_s| sample.time_s - last_s);
        self.last_s = Some(sample.time_s);
        let rate = Vector3::from(sample.gyro_rad_s).norm();
        if rate > LEAST_RATE_RAD_S && (0.0..LONGEST_STEP_S).contains(&step_s) {
            self.turned_rad += rate * step_s;
        }
        self.turned_rad.to_degrees()
    }
}

// Slower is bias, breath, or a leg that is nudged.
const LEAST_RATE_RAD_S: f64 = 12.0_f64.to_radians();
const LONGEST_STEP_S: f64 = 0.25;
