//! Orientation from gyroscope and accelerometer: which way is up, seen from the sensor.
//!
//! The gyroscope is integrated to a nearly inertial frame ([`strapdown`]); there gravity stands
//! almost still while the limb's own accelerations come and go, so a low-pass of the specific force
//! *in that frame* ([`lowpass`]) finds it, far better than one in the moving sensor's frame. That
//! idea is Laidig & Seel's (VQF, Information Fusion 91:187–204, 2023). Ours differs in what this
//! trade needs: true sample spacing, the specific force turned at the middle of its own sampling
//! interval, coning compensation, gaps known as gaps, a stated uncertainty, and a gyroscope bias
//! that is learnt only from proven rest or along the directions that gravity shows
//! ([`bias`]) so that a slow movement is never mistaken for it.
//!
//! No magnetometer is used, so the heading is arbitrary.

pub mod bias;
mod block;
mod fault;
mod felt;
mod gap;
mod inertial;
mod leveller;
pub mod live;
pub mod lowpass;
mod noise;
mod pace;
mod rest;
pub mod smooth;
pub mod strapdown;
#[cfg(test)]
mod tests;

use nalgebra::{UnitQuaternion, Vector3};

pub use bias::BiasState;
pub use fault::{Fault, Faults};
pub use live::LiveFilter;
pub use smooth::smooth;

/// Standard gravity, m/s² (ISO 80000-3). Local gravity differs by up to 0.3 %, which no angle here
/// depends on.
pub const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

/// Which way the sensor stands at one sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orientation {
    /// Unit quaternion `w, x, y, z` that turns sensor coordinates into earth coordinates (Z up,
    /// heading arbitrary).
    pub quaternion: [f64; 4],
    /// One standard uncertainty of the inclination, rad.
    pub inclination_sd_rad: f64,
    /// Whether the sample was used; a rejected one repeats the orientation before it.
    pub accepted: bool,
}

impl Orientation {
    /// The orientation of a sensor before anything is known of it: level, and uncertain.
    #[must_use]
    pub const fn unknown() -> Self {
        Self {
            quaternion: [1.0, 0.0, 0.0, 0.0],
            inclination_sd_rad: std::f64::consts::FRAC_PI_2,
            accepted: false,
        }
    }

    /// The upward vertical in the sensor's frame (unit).
    #[must_use]
    pub fn up(&self) -> Vector3<f64> {
        let [w, x, y, z] = self.quaternion;
        Vector3::new(2.0 * (x * z - w * y), 2.0 * (y * z + w * x), 1.0 - 2.0 * (x * x + y * y))
    }

    /// The quaternion that turns sensor coordinates into earth coordinates.
    #[must_use]
    pub fn attitude(&self) -> UnitQuaternion<f64> {
        let [w, x, y, z] = self.quaternion;
        UnitQuaternion::new_unchecked(nalgebra::Quaternion::new(w, x, y, z))
    }

    fn from_parts(rotation: &UnitQuaternion<f64>, inclination_sd_rad: f64) -> Self {
        let q = rotation.quaternion();
        Self { quaternion: [q.w, q.i, q.j, q.k], inclination_sd_rad, accepted: true }
    }
}
