//! Samples to orientation, hip angle, repetitions and verdicts.
//!
//! Pure and deterministic: no IO, no clock of its own, no threads; the same code live and offline.
//! Inside, angles are radians and rates rad/s; what leaves the crate in a [`result`] is in degrees,
//! carries one standard uncertainty, and names the [`ALGORITHM_VERSION`] that made it.

pub mod alignment;
pub mod calibration;
pub mod dose;
pub mod follower;
pub mod heading;
pub mod hinge;
pub mod hip;
pub mod knee_bend;
pub mod leg;
pub mod levelling;
pub mod limb;
pub mod orientation;
pub mod pelvis;
pub mod preparation;
pub mod recording;
pub mod repetition;
pub mod result;
pub mod statistics;
pub mod strap;
pub mod test_sheet;
pub mod track;
pub mod verdict;

/// The version of the algorithms that turn samples into values. It changes whenever a value that
/// leaves this crate may change for the same input.
pub const ALGORITHM_VERSION: &str = "4";
