//! From the upward vertical in the sensor's frame to hip rotation and knee flexion.
//!
//! Prone with the thigh horizontal the rotation axis is horizontal too, so gravity shows the angle
//! absolutely: `sin θ = ±k·u` with the knee axis `k` (pointing to the person's left) and the upward
//! vertical `u`, whatever the knee angle (Wu et al. 2002 for the signs; the formula from the
//! geometry of the position). Unlike the `atan2` of two components it stays true when the knee
//! leaves 90°.

use endarc_protocol::words::{Side, TestKind};
use nalgebra::{Unit, Vector3};

/// The shank's axes in the sensor's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShankAxes {
    /// The knee's flexion axis, pointing to the person's left; flexion is a positive turn about it.
    pub knee: Unit<Vector3<f64>>,
    /// The long axis from ankle to knee.
    pub long: Unit<Vector3<f64>>,
}

impl ShankAxes {
    /// Hip rotation, rad, internal positive, from the upward vertical `up` (unit, sensor frame).
    #[must_use]
    pub fn hip_rotation(&self, up: &Vector3<f64>, side: Side, test: TestKind) -> f64 {
        rotation_sign(side, test) * self.knee.dot(up).clamp(-1.0, 1.0).asin()
    }

    /// Knee flexion, rad, 0 straight, from the upward vertical `up` (unit, sensor frame).
    #[must_use]
    pub fn knee_flexion(&self, up: &Vector3<f64>) -> f64 {
        let anterior = self.knee.cross(&self.long);
        (-self.long.dot(up)).atan2(-anterior.dot(up))
    }
}

/// `sin θ = sign · k·u`: which way gravity moves along the knee axis when the hip turns inward.
#[must_use]
pub const fn rotation_sign(side: Side, test: TestKind) -> f64 {
    match (test, side) {
        (TestKind::ProneHipRotation, Side::Right) => 1.0,
        (TestKind::ProneHipRotation, Side::Left) => -1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The upward vertical in shank axes (anterior, left, proximal) for a prone right leg, from the
    /// geometry: anterior −cos φ·cos θ, distal sin φ·cos θ, lateral −sin θ.
    fn up(hip_deg: f64, knee_deg: f64) -> Vector3<f64> {
        let (hip, knee) = (hip_deg.to_radians(), knee_deg.to_radians());
        // Lateral is the right leg's right, i.e. minus left; distal is minus proximal.
        Vector3::new(-knee.cos() * hip.cos(), hip.sin(), -knee.sin() * hip.cos())
    }

    #[test]
    fn recovers_both_angles_at_any_knee_angle() {
        let axes = ShankAxes { knee: Vector3::y_axis(), long: Vector3::z_axis() };
        for hip in [-45.0, -8.0, 0.0, 10.0, 35.0_f64] {
            for knee in [60.0, 80.0, 90.0, 110.0_f64] {
                let up = up(hip, knee);
                let right = axes.hip_rotation(&up, Side::Right, TestKind::ProneHipRotation);
                let left = axes.hip_rotation(&up, Side::Left, TestKind::ProneHipRotation);
                assert!((right.to_degrees() - hip).abs() < 1e-9);
                assert!((left + right).abs() < 1e-12, "left mirrors right");
                assert!((axes.knee_flexion(&up).to_degrees() - knee).abs() < 1e-9);
            }
        }
    }
}
