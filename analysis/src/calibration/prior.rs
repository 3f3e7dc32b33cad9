//! What is known of an accelerometer's offset before a visit begins.

use nalgebra::Matrix3;

/// The uncertainty of an offset that is taken as zero: of a sensor as it comes, or of one whose
/// readings were corrected with its calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffsetPrior {
    /// Covariance of the offset, (m/s²)².
    pub covariance: Matrix3<f64>,
}

impl OffsetPrior {
    /// The same standard uncertainty along every axis, m/s².
    #[must_use]
    pub fn of_sd(sd_m_s2: f64) -> Self {
        Self { covariance: Matrix3::from_diagonal_element(sd_m_s2 * sd_m_s2) }
    }

    /// That of an offset that was known to `covariance` ((m/s²)²) and has had `age_days` to wander.
    ///
    /// Common practice, with numbers from memory of data sheets: at once a part that is warmed by skin
    /// is some 3 mg off what it was on the table, and over a year it wanders by some 10 mg, as a random
    /// walk, so its variance grows with the time. It never gets worse than that of a sensor as it comes.
    #[must_use]
    pub fn aged(covariance: &Matrix3<f64>, age_days: f64) -> Self {
        let years = age_days.max(0.0) / DAYS_PER_YEAR;
        let grown = WARMED_SD_M_S2.powi(2) + WANDER_M_S2_PER_SQRT_YEAR.powi(2) * years;
        let aged = covariance + Matrix3::from_diagonal_element(grown);
        let limit = UNCALIBRATED_SD_M_S2.powi(2);
        let largest = aged.diagonal().max();
        // Shrunk as a whole, so that it stays a covariance.
        Self { covariance: if largest > limit { aged * (limit / largest) } else { aged } }
    }

    /// The largest standard uncertainty of the three axes, m/s².
    #[must_use]
    pub fn largest_sd_m_s2(&self) -> f64 {
        self.covariance.diagonal().max().max(0.0).sqrt()
    }
}

impl Default for OffsetPrior {
    /// Of a sensor as it comes.
    fn default() -> Self {
        Self::of_sd(UNCALIBRATED_SD_M_S2)
    }
}

/// What is known of the offsets of the sensors that a leg is measured with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OffsetPriors {
    /// Of the shank's sensor.
    pub shank: OffsetPrior,
    /// Of the pelvis sensor.
    pub pelvis: OffsetPrior,
}

// A cheap accelerometer's offset: about 30 mg (common practice), m/s².
const UNCALIBRATED_SD_M_S2: f64 = 0.3;
const WARMED_SD_M_S2: f64 = 0.03;
const WANDER_M_S2_PER_SQRT_YEAR: f64 = 0.1;
const DAYS_PER_YEAR: f64 = 365.25;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_grows_uncertain_with_age_but_never_beyond_a_new_sensor() {
        let fresh = Matrix3::from_diagonal_element(1e-4);
        let sds: Vec<f64> = [0.0, 30.0, 365.0, 365_000.0]
            .map(|days| OffsetPrior::aged(&fresh, days).largest_sd_m_s2())
            .to_vec();
        assert!(sds.is_sorted(), "{sds:?}");
        assert!((sds[0] - 0.01_f64.hypot(0.03)).abs() < 1e-12);
        assert!((0.1..0.11).contains(&sds[2]), "{sds:?}");
        assert!((sds[3] - OffsetPrior::default().largest_sd_m_s2()).abs() < 1e-12);
    }
}
