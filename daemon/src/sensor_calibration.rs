//! A sensor's calibration as it is kept and exchanged: one JSON object, checked as it comes in.

use std::str::FromStr;

use endarc_analysis::calibration::{Calibration, OffsetPrior};
use jiff::Timestamp;
use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A calibration with when and how warm it was: what `endarc sensors calibrate --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SensorCalibration {
    /// The sensor's address.
    pub sensor: String,
    /// When it was calibrated, UTC.
    #[schema(value_type = String)]
    pub calibrated_at: Timestamp,
    /// How warm it was, °C, if told.
    pub temperature_c: Option<f64>,
    /// Accelerometer offset, m/s², to be subtracted from readings.
    pub accel_offset_m_s2: [f64; 3],
    /// One standard uncertainty of it, m/s².
    pub accel_offset_sd_m_s2: [f64; 3],
    /// Covariance of it, (m/s²)², row by row.
    #[schema(value_type = Vec<Vec<f64>>)]
    pub accel_offset_covariance: [[f64; 3]; 3],
    /// Scale (diagonal) and cross-axis, row by row, to be applied after the offset is taken out.
    #[schema(value_type = Vec<Vec<f64>>)]
    pub accel_matrix: [[f64; 3]; 3],
    /// One standard uncertainty of each element.
    #[schema(value_type = Vec<Vec<f64>>)]
    pub accel_matrix_sd: [[f64; 3]; 3],
    /// Gyroscope offset, rad/s, to be subtracted from readings.
    pub gyro_offset_rad_s: [f64; 3],
    /// One standard uncertainty of it, rad/s.
    pub gyro_offset_sd_rad_s: [f64; 3],
    /// Root mean square of what the corrected rests miss gravity by, m/s².
    pub residual_m_s2: f64,
    /// The length of gravity in corrected readings, m/s².
    pub gravity_m_s2: f64,
    /// How many rests it comes from.
    pub rests: usize,
}

/// Why a text is no calibration that can be used.
#[derive(Debug, thiserror::Error)]
pub enum SensorCalibrationError {
    /// Not the JSON object it should be.
    #[error("not a calibration ({0}): give what `endarc sensors calibrate --json` printed")]
    Shape(#[from] serde_json::Error),
    /// Numbers that correct nothing.
    #[error(
        "the {what} is none of a working sensor: give what `endarc sensors calibrate --json` printed"
    )]
    Numbers {
        /// Which.
        what: &'static str,
    },
}

impl SensorCalibration {
    /// A calibration that was just found.
    #[must_use]
    pub fn new(
        sensor: &str,
        calibrated_at: Timestamp,
        temperature_c: Option<f64>,
        found: &Calibration,
    ) -> Self {
        Self {
            sensor: sensor.to_owned(),
            calibrated_at,
            temperature_c,
            accel_offset_m_s2: found.accel_offset_m_s2.into(),
            accel_offset_sd_m_s2: found.accel_offset_sd_m_s2().into(),
            accel_offset_covariance: rows(&found.accel_offset_covariance),
            accel_matrix: rows(&found.accel_matrix),
            accel_matrix_sd: rows(&found.accel_matrix_sd),
            gyro_offset_rad_s: found.gyro_offset_rad_s.into(),
            gyro_offset_sd_rad_s: found.gyro_offset_sd_rad_s.into(),
            residual_m_s2: found.residual_m_s2,
            gravity_m_s2: found.gravity_m_s2,
            rests: found.rests,
        }
    }

    /// Reads one, and refuses numbers that would spoil what they should correct.
    ///
    /// # Errors
    /// [`SensorCalibrationError`].
    pub fn parse(text: &str) -> Result<Self, SensorCalibrationError> {
        let read: Self = serde_json::from_str(text)?;
        let found = read.calibration();
        let checks = [
            ("accelerometer's offset", found.accel_offset_m_s2.amax() < LARGEST_OFFSET_M_S2),
            ("gyroscope's offset", found.gyro_offset_rad_s.amax() < LARGEST_RATE_RAD_S),
            ("matrix", (found.accel_matrix - Matrix3::identity()).amax() < LARGEST_PART),
            ("covariance", found.accel_offset_covariance.cholesky().is_some()),
        ];
        match checks.iter().find(|(_, holds)| !holds) {
            Some((what, _)) => Err(SensorCalibrationError::Numbers { what }),
            None => Ok(read),
        }
    }

    /// What corrects samples.
    #[must_use]
    pub fn calibration(&self) -> Calibration {
        Calibration {
            accel_offset_m_s2: Vector3::from(self.accel_offset_m_s2),
            accel_matrix: matrix(&self.accel_matrix),
            gyro_offset_rad_s: Vector3::from(self.gyro_offset_rad_s),
            accel_offset_covariance: matrix(&self.accel_offset_covariance),
            accel_matrix_sd: matrix(&self.accel_matrix_sd),
            gyro_offset_sd_rad_s: Vector3::from(self.gyro_offset_sd_rad_s),
            residual_m_s2: self.residual_m_s2,
            gravity_m_s2: self.gravity_m_s2,
            rests: self.rests,
        }
    }

    /// How old it is at a time, days; never negative, for clocks are put right now and then.
    #[must_use]
    pub fn age_days(&self, at: Timestamp) -> f64 {
        (at.duration_since(self.calibrated_at).as_secs_f64() / SECONDS_PER_DAY).max(0.0)
    }

    /// What is known of the offset that samples corrected with it still have at a time.
    #[must_use]
    pub fn offset_prior(&self, at: Timestamp) -> OffsetPrior {
        self.calibration().offset_prior(self.age_days(at))
    }
}

impl FromStr for SensorCalibration {
    type Err = SensorCalibrationError;

    fn from_str(text: &str) -> Result<Self, SensorCalibrationError> {
        Self::parse(text)
    }
}

fn rows(matrix: &Matrix3<f64>) -> [[f64; 3]; 3] {
    // nalgebra's arrays are columns.
    matrix.transpose().into()
}

fn matrix(rows: &[[f64; 3]; 3]) -> Matrix3<f64> {
    Matrix3::from(*rows).transpose()
}

const SECONDS_PER_DAY: f64 = 86_400.0;
// Beyond what a calibration is accepted with.
const LARGEST_OFFSET_M_S2: f64 = 2.0;
const LARGEST_RATE_RAD_S: f64 = 0.5;
const LARGEST_PART: f64 = 0.1;

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A calibration of a sensor with this address.
    pub(crate) fn example(sensor: &str) -> SensorCalibration {
        let found = Calibration {
            accel_offset_m_s2: Vector3::new(0.2, -0.1, 0.05),
            accel_matrix: Matrix3::new(1.01, 0.001, 0.002, 0.001, 0.99, 0.003, 0.002, 0.003, 1.0),
            gyro_offset_rad_s: Vector3::new(0.01, 0.02, -0.01),
            accel_offset_covariance: Matrix3::from_diagonal_element(4e-4),
            accel_matrix_sd: Matrix3::from_element(0.001),
            gyro_offset_sd_rad_s: Vector3::from_element(3e-4),
            residual_m_s2: 0.001,
            gravity_m_s2: 9.806_65,
            rests: 6,
        };
        let at = "2026-11-01T10:00:00Z".parse().unwrap();
        SensorCalibration::new(sensor, at, Some(23.0), &found)
    }

    #[test]
    fn what_is_printed_is_read_back() {
        let one = example("AA:BB");
        let text = serde_json::to_string(&one).unwrap();
        assert_eq!(SensorCalibration::parse(&text).unwrap(), one);
        assert!(text.contains("\"accel_matrix\":[[1.01,0.001,0.002]"), "{text}");
    }

    #[test]
    fn numbers_that_spoil_are_refused() {
        for (from, to, what) in [
            ("[[1.01,", "[[-1.01,", "matrix"),
            ("[0.2,", "[20.0,", "accelerometer's offset"),
            ("[[0.0004,", "[[-0.0004,", "covariance"),
        ] {
            let text = serde_json::to_string(&example("AA:BB")).unwrap().replacen(from, to, 1);
            let error = SensorCalibration::parse(&text).unwrap_err().to_string();
            assert!(error.contains(what), "{error}");
        }
        assert!(SensorCalibration::parse("{}").is_err());
    }

    #[test]
    fn age_counts_from_the_calibration_and_makes_it_less_certain() {
        let one = example("AA:BB");
        let at = |text: &str| text.parse::<Timestamp>().unwrap();
        assert!((one.age_days(at("2026-11-11T10:00:00Z")) - 10.0).abs() < 1e-9);
        assert!(one.age_days(at("2026-10-01T10:00:00Z")) <= 0.0);
        let soon = one.offset_prior(at("2026-11-02T10:00:00Z")).largest_sd_m_s2();
        let late = one.offset_prior(at("2027-11-02T10:00:00Z")).largest_sd_m_s2();
        assert!(soon < 0.05 && late > 0.1, "{soon} {late}");
    }
}
