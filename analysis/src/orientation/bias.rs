//! Learning the gyroscope's bias without mistaking a slow movement for it.
//!
//! Two things show bias, and only these two are used. *Proven rest*: rate and specific force keep
//! still, gravity does not creep, and the rate is one that a bias could have; then the mean rate is
//! the bias. *Gravity*: a bias makes gravity turn in the integrated frame, which shows the two
//! components across the vertical, whatever the limb does, so a true movement cancels out. The
//! component about the vertical is learnt from rest alone.
//!
//! A wrong scale and skew axes turn gravity in the integrated frame too, in step with the movement.
//! They are learnt with the bias from the same turn (states of an inertial navigation filter: Titterton
//! & Weston, Strapdown Inertial Navigation Technology, 2nd ed. 2004, from memory), as far as the
//! movement tells them apart; elsewhere the prior keeps them small.

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// What turns gravity in the integrated frame, per state: the attitude, then the attitude times each
/// component of the rate.
pub(super) type Turns = SMatrix<f64, 3, STATES>;

/// How far the states moved in an update: the bias (rad/s), then the excess column by column.
pub(super) type Lesson = SVector<f64, STATES>;

pub(super) const STATES: usize = 12;

/// The gyroscope's bias, scale and axes, and how well they are known: a Kalman filter of twelve states
/// that is stepped about once a second.
#[derive(Debug, Clone)]
pub struct Bias {
    rate: Vector3<f64>,
    /// What the gyroscope shows too much of, per rate about each axis: scale and misalignment.
    excess: Matrix3<f64>,
    covariance: SMatrix<f64, STATES, STATES>,
    rested: bool,
    since_rest_s: f64,
}

/// What is known of a gyroscope's bias, to be shown and kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BiasState {
    /// The bias in the sensor's frame, rad/s.
    pub bias_rad_s: [f64; 3],
    /// One standard uncertainty of each component, rad/s.
    pub sd_rad_s: [f64; 3],
    /// The time of the sample that last completed a stretch of proven rest, s; `None` before any:
    /// then the component about the vertical is not known.
    pub learnt_at_s: Option<f64>,
}

impl Default for Bias {
    fn default() -> Self {
        Self {
            rate: Vector3::zeros(),
            excess: Matrix3::zeros(),
            covariance: initial_covariance(),
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

    /// The true rate behind a measured one, rad/s in the sensor's frame.
    #[must_use]
    #[inline]
    pub fn corrected(&self, measured: &Vector3<f64>) -> Vector3<f64> {
        let rate = measured - self.rate;
        rate - self.excess * rate
    }

    /// Scale and axes taken as they come.
    pub(super) fn rate_only(mut self) -> Self {
        self.excess = Matrix3::zeros();
        self
    }

    /// See [`Turns`].
    pub(super) fn turns(attitude: &Matrix3<f64>, rate: &Vector3<f64>) -> Turns {
        let mut turns = Turns::zeros();
        for (place, share) in [1.0, rate.x, rate.y, rate.z].into_iter().enumerate() {
            turns.fixed_columns_mut::<3>(3 * place).copy_from(&(attitude * share));
        }
        turns
    }

    /// Whether the sensor has been at rest at all.
    #[must_use]
    pub const fn rested(&self) -> bool {
        self.rested
    }

    /// One standard uncertainty of each component, rad/s.
    #[must_use]
    pub fn component_sd_rad_s(&self) -> Vector3<f64> {
        self.covariance.diagonal().fixed_rows::<3>(0).map(f64::sqrt)
    }

    /// One standard uncertainty of the worst-known component, rad/s.
    #[must_use]
    pub fn sd_rad_s(&self) -> f64 {
        self.covariance.diagonal().fixed_rows::<3>(0).max().sqrt()
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

    /// Learns from the mean rate over `interval_s` of proven rest. Returns what was learnt.
    pub(super) fn learn_rest(&mut self, mean: &Vector3<f64>, interval_s: f64) -> Lesson {
        self.rested = true;
        self.since_rest_s = 0.0;
        let noise = REST_NOISE_DENSITY.powi(2) / interval_s + REST_TREMBLE.powi(2);
        let noise = Matrix3::identity() * noise;
        let observation = Self::turns(&Matrix3::identity(), &Vector3::zeros());
        self.update(&(mean - self.rate), &observation, &noise)
    }

    /// Learns from how gravity turned in the integrated frame: `turn` is its rate (rad/s, across
    /// gravity), `turns` what turned it, filtered as gravity is: a bias that a swinging limb turns to
    /// and fro shows only what is left of it on average. `gravity` is the unit vertical in the frame,
    /// `sd` the standard uncertainty of the rate. Returns what was learnt: nothing where gravity turned
    /// further than any believable gyroscope can explain, for then it was lost, not turned (a knock, a
    /// clipped turn, readings that are missing without a gap).
    pub(super) fn learn_gravity(
        &mut self,
        turn: &Vector3<f64>,
        turns: &Turns,
        gravity: &Vector3<f64>,
        sd: f64,
    ) -> Lesson {
        let vertical = gravity * gravity.transpose();
        let across = Matrix3::identity() - vertical;
        // Along the vertical nothing is seen: a large noise there keeps the update regular (one
        // so large that the matrix can still be inverted without losing the rest in rounding).
        let noise = Matrix3::identity() * sd.powi(2) + vertical * UNSEEN;
        let (innovation, observation) = (across * turn, across * turns);
        let spread = observation * self.covariance * observation.transpose() + noise;
        let credible = spread
            .try_inverse()
            .is_some_and(|certainty| innovation.dot(&(certainty * innovation)) < FURTHEST_SQUARED);
        if credible { self.update(&innovation, &observation, &noise) } else { Lesson::zeros() }
    }

    fn update(
        &mut self,
        innovation: &Vector3<f64>,
        observation: &Turns,
        noise: &Matrix3<f64>,
    ) -> Lesson {
        let shared = self.covariance * observation.transpose();
        let Some(certainty) = (observation * shared + noise).try_inverse() else {
            return Lesson::zeros();
        };
        let gain = shared * certainty;
        let moved = gain * innovation;
        self.rate += moved.fixed_rows::<3>(0);
        self.excess += Matrix3::from_iterator(moved.iter().skip(3).copied());
        self.covariance -= gain * shared.transpose();
        // Rounding must not make it lopsided.
        self.covariance.fill_lower_triangle_with_upper_triangle();
        moved
    }
}

fn initial_covariance() -> SMatrix<f64, STATES, STATES> {
    let mut sd = SVector::<f64, STATES>::repeat(EXCESS_SD);
    sd.fixed_rows_mut::<3>(0).fill(INITIAL_SD);
    SMatrix::from_diagonal(&sd.component_mul(&sd))
}

// What a cheap sensor may have at power-on (common practice: 1 to 3 °/s), and the most that is
// believed, rad/s.
const INITIAL_SD: f64 = 1.5_f64.to_radians();
const LARGEST: f64 = 5.0_f64.to_radians();
// What its scale and axes may be off (common practice: half a percent after the factory's
// calibration).
const EXCESS_SD: f64 = 0.005;
// After a rest only a small change is believed, more as time passes, rad/s and rad/s².
const GATE: f64 = 0.3_f64.to_radians();
const GATE_GROWTH: f64 = 0.005_f64.to_radians();
// Wander of the bias, rad/s per √s.
const WANDER: f64 = 0.003_f64.to_radians();
// Noise of the mean rate at rest, rad/s · √s.
const REST_NOISE_DENSITY: f64 = 0.03_f64.to_radians();
// Table and patient are never quite still, rad/s.
const REST_TREMBLE: f64 = 0.02_f64.to_radians();
const UNSEEN: f64 = 1.0;
// Squared distance of what gravity shows from what is expected of it, in its own uncertainty: true
// ones of three components are nearer in all but one of 100,000 (χ², three degrees of freedom).
const FURTHEST_SQUARED: f64 = 25.9;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gravity_teaches_nothing_about_the_vertical() {
        let mut bias = Bias::default();
        let truth = Vector3::new(0.01, -0.02, 0.03);
        for _ in 0..200 {
            let turn = truth - bias.rate();
            let turns = Bias::turns(&Matrix3::identity(), &Vector3::zeros());
            bias.learn_gravity(&turn, &turns, &Vector3::z(), 0.002);
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
