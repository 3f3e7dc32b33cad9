//! From the nearly inertial frame to the earth's: keeping gravity straight up.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// The rotation from the nearly inertial frame to the earth's. It is corrected a little at a
/// time, by the shortest rotation, so that the heading stays where the gyroscope says.
#[derive(Debug, Clone, Default)]
pub(super) struct Leveller {
    to_earth: UnitQuaternion<f64>,
}

impl Leveller {
    /// The attitude (sensor → inertial) turned into one in the earth's frame (sensor → earth).
    #[inline]
    pub(super) fn to_earth(&self, attitude: &UnitQuaternion<f64>) -> UnitQuaternion<f64> {
        self.to_earth * attitude
    }

    /// From now on `gravity` (any length, inertial frame) stands straight up.
    pub(super) fn level(&mut self, gravity: &Vector3<f64>) {
        let up = self.to_earth * gravity;
        let aside = up.x * up.x + up.y * up.y;
        if up.z > 0.0 && aside < SMALL_TILT_SQUARE * up.z * up.z {
            // The rotation vector of so small a tilt is its tangent, to 1e-4 of it.
            let half = Vector3::new(up.y, -up.x, 0.0) * (0.5 / up.z);
            let step = Quaternion::from_parts(1.0, half) * self.to_earth.quaternion();
            self.to_earth = UnitQuaternion::new_unchecked(step * (1.5 - 0.5 * step.norm_squared()));
        } else if up != Vector3::zeros() {
            self.to_earth = shortest(&up) * self.to_earth;
        }
    }
}

/// The shortest rotation that brings the direction `from` to straight up.
#[cold]
fn shortest(from: &Vector3<f64>) -> UnitQuaternion<f64> {
    UnitQuaternion::rotation_between(from, &Vector3::z())
        // Only for a vector that points exactly down: any half turn about a horizontal axis does.
        .unwrap_or_else(|| {
            UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI)
        })
}

// Of the tilt's tangent, about 0.8°.
const SMALL_TILT_SQUARE: f64 = 2e-4;
