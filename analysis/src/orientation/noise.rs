//! How uncertain a mean of the specific force is as the direction of gravity.

use super::STANDARD_GRAVITY_M_S2;

/// Standard uncertainty of the mean direction of gravity over `age_s`, with own accelerations of
/// `force_m_s2` (root mean square): the limb goes nowhere, so they cancel faster than noise would.
pub(super) fn mean_noise_rad(force_m_s2: f64, age_s: f64) -> f64 {
    let share = (ACCELERATION_MEMORY_S / age_s).min(1.0);
    force_m_s2.max(FORCE_NOISE_M_S2) / STANDARD_GRAVITY_M_S2 * share * share.sqrt()
}

/// The age, s, at which the mean over it is as good as an attitude with this uncertainty.
pub(super) fn trusted_age_s(sd_rad: f64, force_m_s2: f64) -> f64 {
    let ratio = force_m_s2.max(FORCE_NOISE_M_S2) / STANDARD_GRAVITY_M_S2 / sd_rad;
    if ratio <= 1.0 { 0.0 } else { ACCELERATION_MEMORY_S * ratio.powf(1.0 / 1.5) }
}

/// Error of a good accelerometer's axes, about 3 mg; no filter takes it out.
pub(super) const FLOOR_RAD: f64 = 0.15_f64.to_radians();

/// A long pause between two samples says no more about gravity than a short one, s.
pub(super) const LONGEST_STEP_S: f64 = 0.25;

// Accelerometer noise that is always there, m/s².
const FORCE_NOISE_M_S2: f64 = 0.03;
// Own accelerations of a hand-moved limb forget themselves within about this time, s; set so that
// the stated uncertainty covers the error on moved recordings with an optical reference.
const ACCELERATION_MEMORY_S: f64 = 0.25;
