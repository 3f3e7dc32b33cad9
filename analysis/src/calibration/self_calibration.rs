//! Self-calibration: the accelerometer's offset from the still moments of a visit.
//!
//! Whenever the limb is held still the specific force has the length of gravity. Neutral, knee bends
//! and every hold show gravity from many sides, so the offset that makes all these lengths equal can
//! be estimated: a sphere fit (Tedaldi, Pretto & Menegatti, ICRA 2014, use the same residual), here
//! with priors for offset and gravity, so that directions in which the visit shows nothing simply
//! keep the prior's uncertainty.

use endarc_protocol::sample::Sample;
use nalgebra::{Matrix3, Matrix4, Vector3, Vector4};

use super::OffsetPrior;

/// An accelerometer offset and how well it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct AccelerometerOffset {
    /// The offset, m/s², to be subtracted from readings.
    pub offset_m_s2: Vector3<f64>,
    /// Covariance of the offset, (m/s²)².
    pub covariance: Matrix3<f64>,
    /// Length of gravity as this sensor shows it, m/s².
    pub gravity_m_s2: f64,
}

impl AccelerometerOffset {
    /// Fits the offset of a sensor as it comes to mean specific forces (m/s²) of still moments.
    #[must_use]
    pub fn fit(moments: &[Vector3<f64>]) -> Self {
        Self::fit_with_prior(moments, &OffsetPrior::default())
    }

    /// Fits the offset to mean specific forces (m/s²) of still moments, with what is known of it
    /// beforehand: of a sensor whose readings were corrected with its calibration, how much may be
    /// left or have grown since.
    #[must_use]
    pub fn fit_with_prior(moments: &[Vector3<f64>], known: &OffsetPrior) -> Self {
        let prior = Vector4::new(0.0, 0.0, 0.0, GRAVITY_PRIOR_M_S2);
        let mut certainty = Matrix4::zeros();
        // A covariance that cannot be inverted says nothing; a sensor as it comes is then assumed.
        let inverse = known.covariance.try_inverse();
        let offset = inverse.or_else(|| OffsetPrior::default().covariance.try_inverse());
        certainty.fixed_view_mut::<3, 3>(0, 0).copy_from(&offset.unwrap_or_default());
        certainty[(3, 3)] = GRAVITY_PRIOR_SD_M_S2.powi(-2);
        let mut state = prior;
        let mut information = certainty;
        for _ in 0..GAUSS_NEWTON_STEPS {
            information = certainty;
            let mut gradient = certainty * (prior - state);
            for moment in moments {
                let force = moment - state.xyz();
                let length = force.norm();
                if length <= 0.0 {
                    continue;
                }
                let slope =
                    Vector4::new(-force.x / length, -force.y / length, -force.z / length, -1.0);
                let residual = length - state.w;
                information += slope * slope.transpose() / MOMENT_SD_M_S2.powi(2);
                gradient -= slope * (residual / MOMENT_SD_M_S2.powi(2));
            }
            let Some(inverse) = information.try_inverse() else { break };
            state += inverse * gradient;
        }
        let covariance = information.try_inverse().unwrap_or_else(Matrix4::identity);
        Self {
            offset_m_s2: state.xyz(),
            covariance: covariance.fixed_view::<3, 3>(0, 0).into_owned(),
            gravity_m_s2: state.w,
        }
    }

    /// The sample with the offset taken out.
    #[must_use]
    pub fn correct(&self, sample: &Sample) -> Sample {
        let accel = Vector3::from(sample.accel_m_s2) - self.offset_m_s2;
        Sample { accel_m_s2: accel.into(), ..*sample }
    }

    /// The upward vertical (unit) with the offset taken out of one found without that.
    #[must_use]
    pub fn correct_up(&self, up: &Vector3<f64>) -> Vector3<f64> {
        (up * self.gravity_m_s2 - self.offset_m_s2).normalize()
    }

    /// One standard uncertainty of the upward vertical along the unit direction `along`, rad.
    #[must_use]
    pub fn up_sd_rad(&self, along: &Vector3<f64>) -> f64 {
        (along.dot(&(self.covariance * along))).max(0.0).sqrt() / self.gravity_m_s2
    }
}

// Gravity on the earth's surface is 9.78 to 9.83 (WGS 84 ellipsoid); with the sensor's scale error.
const GRAVITY_PRIOR_M_S2: f64 = 9.806_65;
const GRAVITY_PRIOR_SD_M_S2: f64 = 0.03;
// Error of one still moment's length: tremor, sag, noise, scale, m/s². On recordings of the whole visit the
// moments were 0.004 to 0.016 off from each other.
const MOMENT_SD_M_S2: f64 = 0.015;
const GAUSS_NEWTON_STEPS: usize = 8;

#[cfg(test)]
mod tests {
    use super::*;

    fn sides(count: u32) -> impl Iterator<Item = Vector3<f64>> {
        (0..count).map(move |i| {
            let angle = f64::from(i) / f64::from(count) * 1.6;
            Vector3::new(angle.sin(), 0.5 * (3.0 * angle).sin(), -angle.cos()).normalize()
        })
    }

    #[test]
    fn finds_the_offset_when_gravity_was_seen_from_many_sides() {
        let offset = Vector3::new(0.2, -0.15, 0.1);
        let moments: Vec<_> = sides(60).map(|up| up * 9.81 + offset).collect();
        let fit = AccelerometerOffset::fit(&moments);
        assert!((fit.offset_m_s2 - offset).norm() < 0.02, "{}", fit.offset_m_s2);
        assert!(fit.up_sd_rad(&Vector3::y()).to_degrees() < 0.15);
    }

    #[test]
    fn stays_uncertain_in_directions_that_were_not_seen() {
        let moments = vec![Vector3::new(0.0, 0.0, -9.7); 30];
        let fit = AccelerometerOffset::fit(&moments);
        assert!(fit.up_sd_rad(&Vector3::x()).to_degrees() > 1.5);
        assert!(fit.offset_m_s2.xy().norm() < 1e-9);
    }
    #[test]
    fn a_calibrated_sensor_starts_from_less() {
        let moments = vec![Vector3::new(0.0, 0.0, -9.7); 30];
        let known = OffsetPrior::of_sd(0.03);
        let fit = AccelerometerOffset::fit_with_prior(&moments, &known);
        assert!((fit.up_sd_rad(&Vector3::x()) - 0.03 / fit.gravity_m_s2).abs() < 1e-6);
    }
}
