//! From the nearly inertial frame to the earth's: keeping gravity straight up.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// The rotation from the nearly inertial frame to the earth's. It is corrected a little at each
/// step, by the shortest rotation, so that the heading stays where the gyroscope says.
#[derive(Debug, Clone, Default)]
pub(super) struct Leveller {
    to_earth: UnitQuaternion<f64>,
}

impl Leveller {
    /// The attitude (sensor → inertial) turned into one whose `gravity` (any length, inertial frame)
    /// stands straight up.
    pub(super) fn level(
        &mut self,
        attitude: &UnitQuaternion<f64>,
        gravity: &Vector3<f64>,
    ) -> UnitQuaternion<f64> {
        let up = self.to_earth * gravity;
        let length = up.norm();
        if up.z > 0.999_9 * length {
            // The rotation vector of so small a tilt is its sine, to 1e-6 of it.
            let half = Vector3::new(up.y, -up.x, 0.0) * (0.5 / length);
            let step = Quaternion::from_parts(1.0, half) * self.to_earth.quaternion();
            self.to_earth = UnitQuaternion::new_unchecked(step * (1.5 - 0.5 * step.norm_squared()));
        } else if length > 0.0 {
            self.to_earth = shortest(&up) * self.to_earth;
        }
        self.to_earth * attitude
    }
}

/// The shortest rotation that brings the direction `from` to straight up.
fn shortest(from: &Vector3<f64>) -> UnitQuaternion<f64> {
    UnitQuaternion::rotation_between(from, &Vector3::z())
        // Only for a vector that points exactly down: any half turn about a horizontal axis does.
        .unwrap_or_else(|| {
            UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI)
        })
}
