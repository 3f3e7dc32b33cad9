//! How far the pelvis moved, from a sensor worn on it: its roll, or in the knee bend its tilt.
//!
//! The pelvis sensor sits within some 15° of nominal (x to the head, y to the left, z away from the
//! table). Rolling moves the vertical across the long axis of the body, tilting along it; the
//! direction in which it really moves during the visit is taken for that, as long as it agrees with
//! the nominal one.

use endarc_protocol::words::{Side, TestKind};
use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use crate::hip::rotation_sign;

/// The pelvis' neutral and the direction in which its movement moves the vertical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PelvisAxes {
    neutral_up: Vector3<f64>,
    across: Vector3<f64>,
}

impl PelvisAxes {
    /// From the vertical at neutral (unit, sensor frame), the sensor taken as worn straight.
    #[must_use]
    pub fn nominal(neutral_up: &Vector3<f64>, test: TestKind) -> Self {
        let way = match test {
            // Tilting forward (anteriorly) lowers the front of the pelvis: seen from it the vertical
            // leans to the feet.
            TestKind::ProneKneeBend => -Vector3::x(),
            _ => Vector3::y(),
        };
        let across = way - neutral_up * neutral_up.dot(&way);
        Self { neutral_up: *neutral_up, across: across.normalize() }
    }

    /// As [`Self::nominal`], then turned to where the vertical really moved.
    #[must_use]
    pub fn refined(
        neutral_up: &Vector3<f64>,
        ups: impl IntoIterator<Item = Vector3<f64>>,
        test: TestKind,
    ) -> Self {
        let nominal = Self::nominal(neutral_up, test);
        let mut spread = Matrix3::zeros();
        let mut count = 0.0;
        for up in ups {
            let moved = up - neutral_up;
            let moved = moved - neutral_up * neutral_up.dot(&moved);
            spread += moved * moved.transpose();
            count += 1.0;
        }
        let eigen = SymmetricEigen::new(spread / f64::max(count, 1.0));
        let main = eigen.eigenvalues.imax();
        let direction = eigen.eigenvectors.column(main).into_owned();
        let agreement = direction.dot(&nominal.across);
        if eigen.eigenvalues[main].sqrt() < LEAST_MOVEMENT || agreement.abs() < LEAST_AGREEMENT {
            return nominal;
        }
        Self { across: direction * agreement.signum(), ..nominal }
    }

    /// Roll since neutral, rad, positive the way the shank moves in internal rotation of `side`; in the
    /// knee bend anterior tilt.
    #[must_use]
    pub fn roll(&self, up: &Vector3<f64>, side: Side, test: TestKind) -> f64 {
        // Seen from the pelvis the vertical moves the other way than the pelvis.
        let turned = self.across.dot(up).atan2(self.neutral_up.dot(up));
        match test {
            TestKind::ProneKneeBend => turned,
            _ => rotation_sign(side, test) * turned,
        }
    }
}

/// The roll (rad) at a time, by a straight line between the samples (time s, roll rad) before and
/// after it. `None` where neither is near: a sensor that fell silent says nothing, and its last word
/// must not go on as if it did.
#[must_use]
pub(crate) fn roll_between(
    time_s: f64,
    before: Option<(f64, f64)>,
    after: Option<(f64, f64)>,
) -> Option<f64> {
    let near = |(at_s, _): &(f64, f64)| (time_s - at_s).abs() < LONGEST_SILENCE_S;
    match (before.filter(near), after.filter(near)) {
        (Some((from_s, from)), Some((to_s, to))) if to_s > from_s => {
            Some(from + (to - from) * ((time_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0))
        }
        (Some((_, roll)), _) | (None, Some((_, roll))) => Some(roll),
        (None, None) => None,
    }
}

// Longer without a sample, and the pelvis is not seen, s.
const LONGEST_SILENCE_S: f64 = 0.3;
// Root mean square movement of the vertical from which its direction can be told, rad.
const LEAST_MOVEMENT: f64 = 0.7_f64.to_radians();
// Within 25° of nominal.
const LEAST_AGREEMENT: f64 = 0.9;

#[cfg(test)]
mod tests {
    use super::*;

    const TEST: TestKind = TestKind::ProneHipRotation;

    /// A turn by `roll` about the head-ward axis moves the left side up, so the vertical seen from
    /// the pelvis leans to the left.
    fn up(roll_deg: f64) -> Vector3<f64> {
        Vector3::new(0.0, roll_deg.to_radians().sin(), roll_deg.to_radians().cos())
    }

    #[test]
    fn rolling_with_internal_rotation_of_the_right_leg_lifts_the_left_side() {
        let axes = PelvisAxes::nominal(&up(0.0), TEST);
        assert!((axes.roll(&up(5.0), Side::Right, TEST).to_degrees() - 5.0).abs() < 1e-9);
        assert!((axes.roll(&up(5.0), Side::Left, TEST).to_degrees() + 5.0).abs() < 1e-9);
    }

    #[test]
    fn in_the_knee_bend_the_buttocks_rise() {
        let test = TestKind::ProneKneeBend;
        let level = Vector3::z();
        // Anterior tilt by 8°: a positive turn about the axis to the left.
        let tilt = nalgebra::Rotation3::from_axis_angle(&Vector3::y_axis(), 8_f64.to_radians());
        let axes = PelvisAxes::nominal(&level, test);
        let read = axes.roll(&(tilt.inverse() * level), Side::Left, test).to_degrees();
        assert!((read - 8.0).abs() < 1e-9, "{read}");
    }

    #[test]
    fn a_silent_sensor_says_nothing() {
        let middle = roll_between(1.05, Some((1.0, 0.0)), Some((1.1, 0.2))).unwrap();
        assert!((middle - 0.1).abs() < 1e-9);
        assert_eq!(roll_between(1.2, Some((1.1, 0.2)), None), Some(0.2));
        assert_eq!(roll_between(9.0, Some((1.1, 0.2)), None), None);
        assert_eq!(roll_between(5.0, Some((1.1, 0.2)), Some((11.0, 0.0))), None);
    }

    #[test]
    fn a_sensor_worn_askew_reads_the_same_roll() {
        let askew = nalgebra::Rotation3::from_axis_angle(&Vector3::z_axis(), 12_f64.to_radians());
        let rolls = [0.0, 2.0, 5.0, 3.0, -4.0, -1.0];
        let axes =
            PelvisAxes::refined(&(askew * up(0.0)), rolls.map(|roll| askew * up(roll)), TEST);
        let read = axes.roll(&(askew * up(5.0)), Side::Right, TEST).to_degrees();
        assert!((read - 5.0).abs() < 1e-6, "{read}");
        let nominal = PelvisAxes::nominal(&(askew * up(0.0)), TEST);
        assert!(nominal.roll(&(askew * up(5.0)), Side::Right, TEST).to_degrees() < 4.95);
    }
}
