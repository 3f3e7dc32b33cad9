//! How fast gravity is followed: slowly through the limb's own accelerations, faster where the
//! gyroscope drifts.

/// The time constant of the gravity low-pass, s, from what the two errors are at the moment. A mean
/// over τ leaves of the own accelerations a share that falls with τ^1.5 ([`super::noise`]), and of a
/// drift rate a lag that grows with τ; their sum is least where τ goes with
/// (acceleration / drift)^(1 / 2.5).
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    rate_square: f64,
    time_constant_s: f64,
}

impl Default for Pace {
    fn default() -> Self {
        Self { rate_square: 0.0, time_constant_s: USUAL_S }
    }
}

impl Pace {
    /// The time constant, s.
    pub(super) const fn time_constant_s(&self) -> f64 {
        self.time_constant_s
    }

    /// Takes the mean square of the rate, (rad/s)², and the root mean square of the own
    /// accelerations, m/s², of the last `interval_s`.
    pub(super) fn step(&mut self, rate_square: f64, force_m_s2: f64, interval_s: f64) {
        let share = (interval_s / MEMORY_S).min(1.0);
        self.rate_square += (rate_square - self.rate_square) * share;
        let drift = SCALE_ERROR * self.rate_square.sqrt() + DRIFT_RAD_S;
        let force = force_m_s2 + FORCE_ERROR_M_S2;
        let ratio = (force / USUAL_FORCE_M_S2) / (drift / USUAL_DRIFT_RAD_S);
        self.time_constant_s = (USUAL_S * ratio.powf(0.4)).clamp(SHORTEST_S, LONGEST_S);
    }
}

// The time constant of Laidig & Seel (2023), right for the accelerations and the drift that a hand
// makes: 1 m/s² and, at 30 °/s, 0.2 °/s.
const USUAL_S: f64 = 3.0;
const USUAL_FORCE_M_S2: f64 = 1.0;
const USUAL_DRIFT_RAD_S: f64 = 0.2_f64.to_radians();
// What a gyroscope's scale and axes are off (common practice: half a percent after the factory's
// calibration), and what is left of its bias.
const SCALE_ERROR: f64 = 0.005;
const DRIFT_RAD_S: f64 = 0.05_f64.to_radians();
// Accelerometer errors turn with the sensor and so look like own accelerations: 30 mg.
const FORCE_ERROR_M_S2: f64 = 0.3;
const SHORTEST_S: f64 = 2.5;
const LONGEST_S: f64 = 3.5;
const MEMORY_S: f64 = 4.0;

#[cfg(test)]
mod tests {
    use super::*;

    fn after_a_while(rate_deg_s: f64, force_m_s2: f64) -> f64 {
        let mut pace = Pace::default();
        for _ in 0..400 {
            pace.step(rate_deg_s.to_radians().powi(2), force_m_s2, 0.125);
        }
        pace.time_constant_s()
    }

    #[test]
    fn shaking_slows_it_and_turning_hastens_it() {
        assert!(after_a_while(30.0, 3.0) > after_a_while(30.0, 0.5));
        assert!(after_a_while(200.0, 0.5) < after_a_while(30.0, 0.5));
        assert!((after_a_while(1000.0, 0.0) - SHORTEST_S).abs() < 1e-12);
        assert!((after_a_while(0.0, 20.0) - LONGEST_S).abs() < 1e-12);
    }
}
