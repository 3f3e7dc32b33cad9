//! Repetitions: movements out of the rest zone to an end range and back, or through to the other end.
//!
//! [`detector`] follows the hip angle as it comes and says when an excursion began, when its end
//! range is reached (the moment of the tone) and when it is over; [`plateau`] gives the value of an
//! excursion. Live and offline use the same two; offline the angle is the smoother's.

pub mod barrier;
pub mod detector;
pub mod plateau;
pub mod rest;
mod steady;
#[cfg(test)]
mod tests;
mod turn;

/// The leg at one moment, in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Time, s.
    pub time_s: f64,
    /// The angle that the test measures: hip rotation, internal positive, pelvis roll taken out; or knee
    /// flexion.
    pub angle_deg: f64,
    /// Knee flexion.
    pub knee_deg: f64,
    /// Pelvis roll, positive towards internal rotation.
    pub roll_deg: Option<f64>,
    /// Whether a reading stood at the end of the sensor's range.
    pub saturated: bool,
}
