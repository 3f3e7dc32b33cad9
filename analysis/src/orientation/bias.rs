//! Learning the gyroscope's bias without mistaking a slow movement for it.
//!
//! Two things show bias, and only these two are used. *Proven rest*: rate and specific force keep
//! still, gravity does not creep, and the rate is one that a bias could have; then the mean rate is
//! the bias. *Gravity*: a bias makes gravity turn in the integrated frame, which shows the two
//! components across the vertical, whatever the limb does, so a true movement cancels out. The
//! component about the vertical is learnt from rest alone.

use nalgebra::{Matrix3, Vector3};

/// The gyroscope's bias and how well it is known: a Kalman filter of three states that is stepped
/// about once a second.
#[derive(Debug, Clone)]
pub struct Bias {
    rate: Vector3<f64>,
    covariance: Matrix3<f64>,
    rested: bool,
    since_rest_s: f64,
}

impl Default for Bias {
    fn default() -> Self {
        Self {
            rate: Vector3::zeros(),
            covariance: Matrix3::identity() * INITIAL_SD.powi(2),
            rested: false,
            since_rest_s: 0.0,
        }
    }
}

impl Bias {
    /// The bias, rad/s in the sensor's frame.
    #[must_use]
    pub const fn rate(&self) -> &Vector3<f64> {
        &self.rate
    }

    /// One standard uncertainty of the worst-known component, rad/s.
    #[must_use]
    pub fn sd_rad_s(&self) -> f64 {
        self.covariance.diagonal().max().sqrt()
    }

    /// Lets time pass: a bias wanders with temperature.
    pub fn elapse(&mut self, interval_s: f64) {
        self.since_rest_s += interval_s;
        for axis in 0..3 {
            self.covariance[(axis, axis)] += WANDER.powi(2) * interval_s;
        }
    }

    /// Whether a steady rate could be bias: before the first rest anything a cheap sensor may have,
    /// afterwards only what it may have drifted since.
    #[must_use]
    pub fn plausible(&self, rate: &Vector3<f64>) -> bool {
        let gate = if self.rested { GATE + GATE_GROWTH * self.since_rest_s } else { LARGEST };
        (rate - self.rate).norm() < gate
    }

    /// Learns from the mean rate over `interval_s` of proven rest. Returns how far the bias moved.
    pub fn learn_rest(&mut self, mean: &Vector3<f64>, interval_s: f64) -> Vector3<f64> {
        self.rested = true;
        self.since_rest_s = 0.0;
        let noise = Matrix3::identity() * (REST_NOISE_DENSITY.powi(2) / interval_s);
        self.update(&(mean - self.rate), &Matrix3::identity(), &noise)
    }

    /// Learns from how gravity turned in the integrated frame: `excess` is that turn's rate brought
    /// into the sensor's frame, `up` the vertical there, `sd` the standard uncertainty of the rate.
    /// Returns how far the bias moved.
    pub fn learn_gravity(
        &mut self,
        excess: &Vector3<f64>,
        up: &Vector3<f64>,
        sd: f64,
    ) -> Vector3<f64> {
        let across = Matrix3::identity() - up * up.transpose();
        // Along the vertical nothing is seen: a large noise there keeps the update regular (one
        // so large that the matrix can still be inverted without losing the rest in rounding).
        let noise = Matrix3::identity() * sd.powi(2) + up * up.transpose() * UNSEEN;
        self.update(&(across * excess), &across, &noise)
    }

    fn update(
        &mut self,
        innovation: &Vector3<f64>,
        observation: &Matrix3<f64>,
        noise: &Matrix3<f64>,
    ) -> Vector3<f64> {
        let seen = observation * self.covariance * observation.transpose() + noise;
        let Some(inverse) = seen.try_inverse() else {
            return Vector3::zeros();
        };
        let gain = self.covariance * observation.transpose() * inverse;
        let moved = gain * innovation;
        self.rate += moved;
        self.covariance -= gain * observation * self.covariance;
        // Rounding must not make it lopsided.
        self.covariance = (self.covariance + self.covariance.transpose()) * 0.5;
        moved
    }
}

/// Decides when rest is proven.
#[derive(Debug, Clone, Default)]
pub struct RestDetector {
    rate: Vector3<f64>,
    force: Vector3<f64>,
    anchor: Vector3<f64>,
    still_s: f64,
    started: bool,
}

impl RestDetector {
    /// Takes one sample; returns for how long everything has kept still, s.
    pub fn step(
        &mut self,
        rate: &Vector3<f64>,
        force: &Vector3<f64>,
        interval_s: f64,
        bias: &Bias,
    ) -> f64 {
        if !self.started {
            (self.rate, self.force, self.anchor, self.started) = (*rate, *force, *force, true);
        }
        let share = interval_s / (SMOOTHING_S + interval_s);
        self.rate += (rate - self.rate) * share;
        self.force += (force - self.force) * share;
        let still = (rate - self.rate).norm_squared() < RATE_TOLERANCE.powi(2)
            && (force - self.force).norm_squared() < FORCE_TOLERANCE_M_S2.powi(2)
            && (self.force - self.anchor).norm_squared() < CREEP_M_S2.powi(2)
            && bias.plausible(&self.rate);
        if still {
            self.still_s += interval_s;
        } else {
            self.still_s = 0.0;
            self.anchor = self.force;
        }
        self.still_s
    }
}

/// So long everything must have kept still before rest counts as proven, s.
pub const PROOF_S: f64 = 1.5;

// What a cheap sensor may have at power-on (common practice: 1 to 3 °/s), and the most that is
// believed, rad/s.
const INITIAL_SD: f64 = 1.5_f64.to_radians();
const LARGEST: f64 = 5.0_f64.to_radians();
// After a rest only a small change is believed, more as time passes, rad/s and rad/s².
const GATE: f64 = 0.3_f64.to_radians();
const GATE_GROWTH: f64 = 0.005_f64.to_radians();
// Wander of the bias, rad/s per √s.
const WANDER: f64 = 0.003_f64.to_radians();
// Noise of the mean rate at rest, rad/s · √s.
const REST_NOISE_DENSITY: f64 = 0.03_f64.to_radians();
const UNSEEN: f64 = 1.0;
// Stillness: deviation from the half-second mean. The tolerances are those of Laidig & Seel (2023).
const SMOOTHING_S: f64 = 0.5;
const RATE_TOLERANCE: f64 = 2.0_f64.to_radians();
const FORCE_TOLERANCE_M_S2: f64 = 0.5;
// Gravity creeping by more than half a degree since the stillness began is a movement.
const CREEP_M_S2: f64 = 0.085;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gravity_teaches_nothing_about_the_vertical() {
        let mut bias = Bias::default();
        let truth = Vector3::new(0.01, -0.02, 0.03);
        for _ in 0..200 {
            let excess = truth - bias.rate();
            bias.learn_gravity(&excess, &Vector3::z(), 0.002);
        }
        assert!((bias.rate().xy() - truth.xy()).norm() < 1e-4);
        assert!(bias.rate().z.abs() < 1e-6);
    }

    #[test]
    fn a_slow_turn_after_a_rest_is_not_plausible_as_bias() {
        let mut bias = Bias::default();
        bias.learn_rest(&Vector3::new(0.01, 0.0, 0.0), 5.0);
        bias.elapse(20.0);
        assert!(!bias.plausible(&Vector3::new(0.01, 0.0, 1.0_f64.to_radians())));
        assert!(bias.plausible(&Vector3::new(0.012, 0.0, 0.0)));
    }
}
