//! From the upward vertical in the sensor's frame to hip rotation and knee flexion.
//!
//! Where the thigh is horizontal the rotation axis is horizontal too, so gravity shows the angle
//! absolutely: `sin θ = ±k·u` with the knee axis `k` (pointing to the person's left) and the upward
//! vertical `u`, whatever the knee angle (Wu et al. 2002 for the signs; the formula from the
//! geometry of the position). Unlike the `atan2` of two components it stays true when the knee
//! leaves 90°. Supine with hip and knee at 90° the rotation axis is vertical and gravity shows
//! nothing; there the heading of the shank is the angle.

use endarc_protocol::words::{Side, TestKind};
use nalgebra::{Unit, UnitQuaternion, Vector3};

/// The shank's axes in the sensor's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShankAxes {
    /// The knee's flexion axis, pointing to the person's left; flexion is a positive turn about it.
    pub knee: Unit<Vector3<f64>>,
    /// The upward vertical when the knee is at 90° and the hip not rotated; at right angles to
    /// `knee`. Prone it points from knee to ankle, seated and hanging from ankle to knee, supine
    /// with hip and knee at 90° to the front of the shin.
    pub upright: Unit<Vector3<f64>>,
}

impl ShankAxes {
    /// The axes from the knee's axis and the vertical of a neutral hold (unit, sensor frame).
    #[must_use]
    pub fn new(knee: Unit<Vector3<f64>>, neutral_up: &Vector3<f64>) -> Self {
        let across = neutral_up - knee.into_inner() * neutral_up.dot(&knee);
        Self { knee, upright: Unit::try_new(across, 1e-6).unwrap_or_else(Vector3::z_axis) }
    }

    /// Hip rotation, rad, internal positive, from the upward vertical `up` (unit, sensor frame).
    /// Zero where gravity does not show it.
    #[must_use]
    pub fn hip_rotation(&self, up: &Vector3<f64>, side: Side, test: TestKind) -> f64 {
        rotation_sign(side, test) * self.knee.dot(up).clamp(-1.0, 1.0).asin()
    }

    /// Knee flexion, rad, 0 straight, from the upward vertical `up` (unit, sensor frame): seen from
    /// the shank the vertical turns backwards about the knee's axis.
    #[must_use]
    pub fn knee_flexion(&self, up: &Vector3<f64>) -> f64 {
        let towards_straight = self.knee.cross(&self.upright).dot(up);
        let flexion = std::f64::consts::FRAC_PI_2 - towards_straight.atan2(self.upright.dot(up));
        if flexion > std::f64::consts::PI { flexion - std::f64::consts::TAU } else { flexion }
    }

    /// The long axis from ankle to knee (unit, sensor frame).
    #[must_use]
    pub fn long(&self, test: TestKind) -> Vector3<f64> {
        match posture(test) {
            Posture::Prone => -self.upright.into_inner(),
            Posture::Hanging => self.upright.into_inner(),
            Posture::Supine9090 => self.upright.cross(&self.knee),
        }
    }

    /// Heading of the shank's long axis, rad, growing with internal rotation in the position where
    /// the rotation axis is vertical; from an arbitrary zero.
    #[must_use]
    pub fn heading(&self, attitude: &UnitQuaternion<f64>, side: Side, test: TestKind) -> f64 {
        let distal = attitude * -self.long(test);
        // Seen from above, the foot of a supine person's right leg goes clockwise when it goes outward.
        let outward = match side {
            Side::Right => -1.0,
            Side::Left => 1.0,
        };
        outward * distal.y.atan2(distal.x)
    }
}

/// How the leg is placed, as far as gravity is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Posture {
    /// Thigh horizontal, the shank standing up from the knee.
    Prone,
    /// Thigh horizontal, the shank hanging from the knee.
    Hanging,
    /// Thigh upright, the shank horizontal: the axis of rotation is vertical.
    Supine9090,
}

/// The posture of a test.
#[must_use]
pub const fn posture(test: TestKind) -> Posture {
    match test {
        TestKind::ProneHipRotation | TestKind::ProneBothHipsRotation | TestKind::ProneKneeBend => {
            Posture::Prone
        }
        TestKind::SeatedHipRotation | TestKind::SupineHangingHipRotation => Posture::Hanging,
        TestKind::Supine9090HipRotation => Posture::Supine9090,
    }
}

/// `sin θ = sign · k·u`: which way gravity moves along the knee axis when the hip turns inward; 0
/// where gravity does not see it.
#[must_use]
pub const fn rotation_sign(side: Side, test: TestKind) -> f64 {
    match (posture(test), side) {
        (Posture::Prone, Side::Right) | (Posture::Hanging, Side::Left) => 1.0,
        (Posture::Prone, Side::Left) | (Posture::Hanging, Side::Right) => -1.0,
        (Posture::Supine9090, _) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The upward vertical in shank axes (anterior, left, proximal), from the geometry of clinical
    /// positions: prone anterior −cos φ·cos θ, distal sin φ·cos θ, lateral −sin θ; hanging the
    /// other way up.
    fn up(hip_deg: f64, knee_deg: f64, side: Side, test: TestKind) -> Vector3<f64> {
        let (hip, knee) = (hip_deg.to_radians(), knee_deg.to_radians());
        let (anterior, distal, lateral) =
            (-knee.cos() * hip.cos(), knee.sin() * hip.cos(), -hip.sin());
        let left = if side == Side::Left { lateral } else { -lateral };
        let prone = Vector3::new(anterior, left, -distal);
        if posture(test) == Posture::Hanging { -prone } else { prone }
    }

    #[test]
    fn recovers_both_angles_at_any_knee_angle() {
        for test in [TestKind::ProneHipRotation, TestKind::SeatedHipRotation] {
            for side in [Side::Left, Side::Right] {
                let neutral = up(0.0, 90.0, side, test);
                let axes = ShankAxes::new(Vector3::y_axis(), &neutral);
                assert!((axes.long(test) - Vector3::z()).norm() < 1e-12);
                for hip in [-45.0, -8.0, 0.0, 10.0, 35.0_f64] {
                    for knee in [0.0, 60.0, 80.0, 90.0, 110.0, 140.0_f64] {
                        let up = up(hip, knee, side, test);
                        let read = axes.hip_rotation(&up, side, test).to_degrees();
                        assert!((read - hip).abs() < 1e-9, "{test} {side}: {read}");
                        assert!((axes.knee_flexion(&up).to_degrees() - knee).abs() < 1e-9);
                    }
                }
            }
        }
    }

    /// Supine, hip and knee at 90°: x to the feet, z up. Internal rotation carries the right foot to
    /// the person's right, which is the left of one who looks along x from the head (−y is right).
    #[test]
    fn where_gravity_sees_nothing_the_heading_is_the_angle() {
        let test = TestKind::Supine9090HipRotation;
        // Shank axes: anterior up, left to earth's y, proximal towards the head.
        let neutral = UnitQuaternion::from_matrix(&nalgebra::Matrix3::from_columns(&[
            Vector3::z(),
            Vector3::y(),
            -Vector3::x(),
        ]));
        let axes = ShankAxes::new(Vector3::y_axis(), &(neutral.inverse() * Vector3::z()));
        assert!((axes.long(test) - Vector3::z()).norm() < 1e-12);
        for (side, outward) in [(Side::Right, -1.0), (Side::Left, 1.0)] {
            let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), outward * 0.4);
            let heading = |attitude: &UnitQuaternion<f64>| axes.heading(attitude, side, test);
            assert!((heading(&(turn * neutral)) - heading(&neutral) - 0.4).abs() < 1e-12);
            // The knee's angle changes nothing, and reads as such.
            let bent = neutral * UnitQuaternion::from_axis_angle(&Vector3::y_axis(), 0.3);
            assert!(heading(&bent).abs() < 1e-12);
            let flexion = axes.knee_flexion(&(bent.inverse() * Vector3::z())).to_degrees();
            assert!((flexion - 90.0 - 0.3_f64.to_degrees()).abs() < 1e-9, "{flexion}");
        }
    }
}
