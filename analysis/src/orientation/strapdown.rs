//! Integrating angular rate to attitude.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// Attitude integrated from angular rate: sensor frame → a nearly inertial frame that drifts only
/// by what the gyroscope's errors integrate to.
#[derive(Debug, Clone)]
pub struct Strapdown {
    attitude: UnitQuaternion<f64>,
    previous_turn: Vector3<f64>,
}

/// One step of the integration.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// The attitude at its middle, of any length.
    middle: Quaternion<f64>,
}

impl Step {
    /// A vector felt in the sensor's frame on average over the interval, that is at its middle,
    /// brought into the inertial frame.
    #[must_use]
    #[inline]
    pub fn felt(&self, vector: &Vector3<f64>) -> Vector3<f64> {
        // `q v q*` for a quaternion of any length.
        let Self { middle, .. } = self;
        let (real, imaginary) = (middle.w, middle.imag());
        let turned = imaginary.cross(vector) + vector * real;
        vector + imaginary.cross(&turned) * (2.0 / middle.norm_squared())
    }
}

impl Default for Strapdown {
    fn default() -> Self {
        Self { attitude: UnitQuaternion::identity(), previous_turn: Vector3::zeros() }
    }
}

impl Strapdown {
    /// The attitude now.
    #[must_use]
    pub const fn attitude(&self) -> &UnitQuaternion<f64> {
        &self.attitude
    }

    /// Turns on by the mean `rate` (rad/s, sensor frame) over `interval_s`, with the coning term of
    /// the interval before (Miller, J. Guidance 6(4), 1983; Savage, J. Guidance 21(1), 1998: one
    /// twelfth of the cross product of neighbouring turns).
    #[inline]
    pub fn advance(&mut self, rate: &Vector3<f64>, interval_s: f64) -> Step {
        let turn = rate * interval_s;
        let coned = turn + self.previous_turn.cross(&turn) * (1.0 / 12.0);
        self.previous_turn = turn;
        let square = coned.norm_squared();
        if square > LARGE_TURN_SQUARE {
            return self.advance_far(&coned);
        }
        let before = *self.attitude.quaternion();
        let end = before * small_turn(&coned, square);
        self.attitude = UnitQuaternion::new_unchecked(end);
        // The sum of two attitudes points to the middle between them (as slerp does at one half).
        Step { middle: before + end }
    }

    #[cold]
    fn advance_far(&mut self, turn: &Vector3<f64>) -> Step {
        let middle = self.attitude * UnitQuaternion::from_scaled_axis(turn * 0.5);
        self.attitude *= UnitQuaternion::from_scaled_axis(*turn);
        Step { middle: middle.into_inner() }
    }

    /// Forgets the neighbouring turn: after a gap it is not a neighbour.
    pub fn break_coning(&mut self) {
        self.previous_turn = Vector3::zeros();
    }

    /// Turns the inertial frame itself, and brings the attitude back to unit length: call it, if only
    /// with no turn, now and then, so that rounding never accumulates.
    pub(super) fn turn_frame(&mut self, turn: &UnitQuaternion<f64>) {
        let product = turn.quaternion() * self.attitude.quaternion();
        // One Newton step.
        let correction = 1.5 - 0.5 * product.norm_squared();
        self.attitude = UnitQuaternion::new_unchecked(product * correction);
    }
}

/// The rotation by a rotation vector (rad), without trigonometry where it is small.
pub(super) fn turned_by(turn: &Vector3<f64>) -> UnitQuaternion<f64> {
    let square = turn.norm_squared();
    if square > LARGE_TURN_SQUARE {
        return UnitQuaternion::from_scaled_axis(*turn);
    }
    UnitQuaternion::new_unchecked(small_turn(turn, square))
}

/// The quaternion of a rotation vector (rad) and its square: unit to 1e-11.
#[inline]
fn small_turn(turn: &Vector3<f64>, square: f64) -> Quaternion<f64> {
    // Sine and cosine of half the angle as series: a step needs no trigonometry.
    let quarter = square * 0.25;
    let real = 1.0 - quarter * (0.5 - quarter * (1.0 / 24.0 - quarter * (1.0 / 720.0)));
    let scale = 0.5 - quarter * (1.0 / 12.0 - quarter * (1.0 / 240.0 - quarter * (1.0 / 10_080.0)));
    Quaternion::from_parts(real, turn * scale)
}

// Below 0.3 rad the series' next terms are under 1e-11.
const LARGE_TURN_SQUARE: f64 = 0.09;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steady_turn_is_exact_at_any_spacing() {
        for interval in [0.001, 0.01, 0.05, 0.5] {
            let mut strapdown = Strapdown::default();
            let steps = (1.0_f64 / interval).round() as usize;
            for _ in 0..steps {
                strapdown.advance(&Vector3::new(0.0, std::f64::consts::FRAC_PI_2, 0.0), interval);
            }
            let turned = strapdown.attitude() * Vector3::z();
            assert!((turned - Vector3::x()).norm() < 1e-9, "at {interval} s: {turned}");
            assert!((strapdown.attitude().quaternion().norm() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_felt_belongs_to_the_middle_of_the_interval() {
        let mut strapdown = Strapdown::default();
        let step = strapdown.advance(&Vector3::new(0.0, 4.0, 0.0), 0.05);
        let middle = UnitQuaternion::from_scaled_axis(Vector3::y() * 0.1);
        let force = Vector3::new(1.0, 2.0, 9.0);
        assert!((step.felt(&force) - middle * force).norm() < 1e-12);
    }

    /// Whole and half turns at once, as a first interval may hold: the sum of the attitudes has no
    /// direction there.
    #[test]
    fn what_is_felt_in_a_far_turn_belongs_to_its_middle() {
        for angle in [3.0, std::f64::consts::PI, std::f64::consts::TAU, 6.0] {
            let mut strapdown = Strapdown::default();
            let step = strapdown.advance(&Vector3::new(0.0, angle, 0.0), 1.0);
            let middle = UnitQuaternion::from_scaled_axis(Vector3::y() * (0.5 * angle));
            let force = Vector3::new(1.0, 2.0, 9.0);
            assert!((step.felt(&force) - middle * force).norm() < 1e-12, "{angle} rad");
        }
    }

    #[test]
    fn turning_the_frame_turns_the_attitude_and_brings_it_back_to_unit_length() {
        let mut strapdown = Strapdown::default();
        for _ in 0..1000 {
            strapdown.advance(&Vector3::new(29.0, 3.0, -2.0), 0.01);
        }
        let before = *strapdown.attitude();
        let turn = UnitQuaternion::from_scaled_axis(Vector3::new(0.2, -0.1, 0.7));
        strapdown.turn_frame(&turn);
        assert!((strapdown.attitude().quaternion().norm() - 1.0).abs() < 1e-15);
        assert!(strapdown.attitude().angle_to(&(turn * before)) < 1e-7);
    }

    /// Classical coning (rate vector circling at `f`): the mean rate of each interval integrates to a
    /// false drift that the coning term takes out to second order.
    #[test]
    fn coning_drift_is_taken_out() {
        let (amplitude, omega, interval) = (0.1_f64, 2.0 * std::f64::consts::PI * 5.0, 0.01);
        // Attitude exp(amplitude · (cos ωt, sin ωt, 0)) exactly; its increments are what an ideal
        // rate-integrating gyroscope would deliver.
        let truth = |time: f64| {
            UnitQuaternion::from_scaled_axis(Vector3::new(
                amplitude * (omega * time).cos(),
                amplitude * (omega * time).sin(),
                0.0,
            ))
        };
        let mean_rate = |from: f64| {
            let parts = 200;
            (0..parts)
                .map(|i| {
                    let (a, b) =
                        (f64::from(i) / f64::from(parts), f64::from(i + 1) / f64::from(parts));
                    (truth(from + a * interval).inverse() * truth(from + b * interval))
                        .scaled_axis()
                })
                .sum::<Vector3<f64>>()
                / interval
        };
        let mut with = Strapdown { attitude: truth(0.0), ..Strapdown::default() };
        let mut without = with.clone();
        for i in 0..500 {
            let rate = mean_rate(f64::from(i) * interval);
            with.advance(&rate, interval);
            without.break_coning();
            without.advance(&rate, interval);
        }
        let error = |s: &Strapdown| s.attitude().angle_to(&truth(5.0)).to_degrees();
        assert!(error(&with) < 0.1 * error(&without), "{} {}", error(&with), error(&without));
    }
}
