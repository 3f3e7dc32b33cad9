//! What a sensor's calibration says, and how readings are corrected with it.

use endarc_protocol::sample::Sample;
use nalgebra::{Matrix3, Vector3};

use super::OffsetPrior;

/// What is wrong with one sensor: `force = matrix · (reading − offset)`, `rate = reading − offset`.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Accelerometer offset, m/s², to be subtracted from readings.
    pub accel_offset_m_s2: Vector3<f64>,
    /// Accelerometer scale (diagonal) and cross-axis (off it), symmetric, to be applied after the
    /// offset is taken out.
    pub accel_matrix: Matrix3<f64>,
    /// Gyroscope offset, rad/s, to be subtracted from readings.
    pub gyro_offset_rad_s: Vector3<f64>,
    /// Covariance of the accelerometer's offset, (m/s²)².
    pub accel_offset_covariance: Matrix3<f64>,
    /// One standard uncertainty of each element of the matrix.
    pub accel_matrix_sd: Matrix3<f64>,
    /// One standard uncertainty of the gyroscope's offset, rad/s.
    pub gyro_offset_sd_rad_s: Vector3<f64>,
    /// Root mean square of what the corrected rests miss gravity by, m/s².
    pub residual_m_s2: f64,
    /// The length that gravity has in corrected readings, m/s².
    pub gravity_m_s2: f64,
    /// How many rests it rests on.
    pub rests: usize,
}

impl Calibration {
    /// The sample with the sensor's own errors taken out.
    #[must_use]
    pub fn apply(&self, sample: &Sample) -> Sample {
        let force = self.accel_matrix * (Vector3::from(sample.accel_m_s2) - self.accel_offset_m_s2);
        let rate = Vector3::from(sample.gyro_rad_s) - self.gyro_offset_rad_s;
        Sample { accel_m_s2: force.into(), gyro_rad_s: rate.into(), ..*sample }
    }

    /// What is known of the offset that corrected readings still have, so many days afterwards.
    #[must_use]
    pub fn offset_prior(&self, age_days: f64) -> OffsetPrior {
        let left = self.accel_matrix * self.accel_offset_covariance * self.accel_matrix.transpose();
        OffsetPrior::aged(&left, age_days)
    }

    /// One standard uncertainty of each axis' accelerometer offset, m/s².
    #[must_use]
    pub fn accel_offset_sd_m_s2(&self) -> Vector3<f64> {
        self.accel_offset_covariance.diagonal().map(|variance| variance.max(0.0).sqrt())
    }
}
