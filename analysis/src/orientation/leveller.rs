//! From the nearly inertial frame to the earth's: keeping gravity straight up.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// The rotation from the nearly inertial frame to the earth's. It is corrected a little at a
/// time, by the shortest rotation, so that the heading stays where the gyroscope says.
#[derive(Debug, Clone, Default)]
pub(super) struct Leveller {
    to_earth: UnitQuaternion<f64>,
}

impl Leveller {
    /// From the inertial frame to the earth's.
    #[inline]
    pub(super) fn to_earth(&self) -> &UnitQuaternion<f64> {
        &self.to_earth
    }

    /// From the earth's frame to the inertial one.
    pub(super) fn to_inertial(&self) -> UnitQuaternion<f64> {
        self.to_earth.inverse()
    }

    /// From now on `gravity` (any length, inertial frame) stands straight up. Returns how far the
    /// earth's frame turned for that.
    pub(super) fn level(&mut self, gravity: &Vector3<f64>) -> UnitQuaternion<f64> {
        let up = self.to_earth * gravity;
        let turn = shortest(&up);
        let product = turn.quaternion() * self.to_earth.quaternion();
        // One Newton step towards unit length: rounding never accumulates.
        let correction = 1.5 - 0.5 * product.norm_squared();
        self.to_earth = UnitQuaternion::new_unchecked(product * correction);
        turn
    }
}

/// The shortest rotation that brings the direction `from` to straight up; none for no direction.
fn shortest(from: &Vector3<f64>) -> UnitQuaternion<f64> {
    let aside = from.x * from.x + from.y * from.y;
    if from.z > 0.0 && aside < SMALL_TILT_SQUARE * from.z * from.z {
        // The rotation vector of so small a tilt is its tangent, to 1e-4 of it.
        let half = Vector3::new(from.y, -from.x, 0.0) * (0.5 / from.z);
        let turn = Quaternion::from_parts(1.0, half);
        return UnitQuaternion::new_unchecked(turn * (1.0 - 0.5 * half.norm_squared()));
    }
    far(from)
}

#[cold]
fn far(from: &Vector3<f64>) -> UnitQuaternion<f64> {
    if *from == Vector3::zeros() {
        return UnitQuaternion::identity();
    }
    UnitQuaternion::rotation_between(from, &Vector3::z())
        // Only for a vector that points exactly down: any half turn about a horizontal axis does.
        .unwrap_or_else(|| {
            UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI)
        })
}

// Of the tilt's tangent, about 0.8°.
const SMALL_TILT_SQUARE: f64 = 2e-4;
