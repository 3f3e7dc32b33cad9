//! What a real sensor makes of what an ideal one would feel.

use endarc_protocol::sample::{Flags, Values};
use nalgebra::{Matrix3, Vector3};

use crate::motion::chain::{Felt, GRAVITY_M_S2};
use crate::scenario::SensorSpec;
use crate::seed::Chance;

/// The step and the end of one quantity's range, SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Resolution {
    /// One count; 0 where numbers are sent as floats.
    pub(crate) step: f64,
    /// The last value of the range; infinite where there is none.
    pub(crate) limit: f64,
}

impl Resolution {
    /// The value as it is sent, and whether the range ended before it.
    fn read(&self, value: f64) -> (f64, bool) {
        let kept = value.clamp(-self.limit, self.limit);
        let sent = if self.step > 0.0 { libm::round(kept / self.step) * self.step } else { kept };
        (sent, kept.abs() >= self.limit)
    }
}

/// The errors of one quantity's three axes.
#[derive(Debug, Clone)]
struct Triad {
    offset: Vector3<f64>,
    /// Each axis's scale on the diagonal, what it takes from the others beside it.
    gain: Matrix3<f64>,
    noise_sd: f64,
    resolution: Resolution,
}

impl Triad {
    fn read(&self, truth: Vector3<f64>, noise: &mut Chance) -> ([f64; 3], bool) {
        let clean = self.gain * truth + self.offset;
        let mut saturated = false;
        let sent = [clean.x, clean.y, clean.z].map(|value| {
            let (sent, at_end) = self.resolution.read(value + noise.normal(self.noise_sd));
            saturated |= at_end;
            sent
        });
        (sent, saturated)
    }
}

/// A sensor, strapped on askew, with its offsets, scale errors and noise.
#[derive(Debug, Clone)]
pub(crate) struct Imu {
    /// From the segment's axes to the sensor's.
    to_sensor: Matrix3<f64>,
    accel: Triad,
    gyro: Triad,
    noise: Chance,
}

impl Imu {
    /// A sensor as specified; directions of its errors are drawn from the seed.
    pub(crate) fn new(
        spec: &SensorSpec,
        rate_hz: f64,
        (accel, gyro): (Resolution, Resolution),
        seed: u64,
    ) -> Self {
        let role = spec.role;
        let mut mounting = Chance::new(seed, &format!("mounting/{role}"));
        let mut errors = Chance::new(seed, &format!("errors/{role}"));
        // White noise of density d, sampled at the rate f, has the standard deviation d·√(f/2).
        let band = libm::sqrt(rate_hz / 2.0);
        let mut cross = Chance::new(seed, &format!("cross-axis/{role}"));
        let mut triad =
            |offset: f64, scale_percent: f64, cross_percent: f64, noise_sd, resolution| Triad {
                offset: Vector3::from(errors.direction()) * offset,
                gain: Matrix3::from_diagonal(&Vector3::from(
                    [0.0; 3].map(|_| 1.0 + errors.between(-0.01, 0.01) * scale_percent),
                )) + beside(&mut cross, cross_percent),
                noise_sd,
                resolution,
            };
        let degree = std::f64::consts::PI / 180.0;
        Self {
            to_sensor: turn(mounting.direction(), spec.mounting_error_deg * degree),
            accel: triad(
                spec.accel_offset_mg * 1e-3 * GRAVITY_M_S2,
                spec.accel_scale_error_percent,
                spec.accel_cross_axis_percent,
                spec.accel_noise_ug_per_sqrt_hz * 1e-6 * GRAVITY_M_S2 * band,
                accel,
            ),
            gyro: triad(
                spec.gyro_offset_deg_s * degree,
                spec.gyro_scale_error_percent,
                spec.gyro_cross_axis_percent,
                spec.gyro_noise_deg_s_per_sqrt_hz * degree * band,
                gyro,
            ),
            noise: Chance::new(seed, &format!("noise/{role}")),
        }
    }

    /// The next reading.
    pub(crate) fn read(&mut self, felt: &Felt) -> Values {
        let (accel_m_s2, accel_saturated) =
            self.accel.read(self.to_sensor * felt.force_m_s2, &mut self.noise);
        let (gyro_rad_s, gyro_saturated) =
            self.gyro.read(self.to_sensor * felt.rate_rad_s, &mut self.noise);
        Values { accel_m_s2, gyro_rad_s, flags: Flags { accel_saturated, gyro_saturated } }
    }
}

/// What each axis takes from the other two: at most so many percent, nothing on the diagonal.
fn beside(chance: &mut Chance, percent: f64) -> Matrix3<f64> {
    let mut matrix = Matrix3::from_fn(|_, _| chance.between(-0.01, 0.01) * percent);
    matrix.fill_diagonal(0.0);
    matrix
}

/// The matrix of a turn about a unit axis (Rodrigues' formula).
fn turn(axis: [f64; 3], angle_rad: f64) -> Matrix3<f64> {
    let axis = Vector3::from(axis);
    let (sin, cos) = libm::sincos(angle_rad);
    Matrix3::identity() * cos + axis.cross_matrix() * sin + axis * axis.transpose() * (1.0 - cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;

    const FINE: Resolution = Resolution { step: 0.0, limit: f64::INFINITY };

    fn spec(keys: &str) -> SensorSpec {
        let text =
            format!("script = [{{ neutral = {{}} }}]\n[[sensors]]\nrole = \"left-shank\"\n{keys}");
        Scenario::parse("imu", &text).unwrap().sensors.remove(0)
    }

    const PERFECT: &str = "mounting_error_deg = 0\naccel_offset_mg = 0\ngyro_offset_deg_s = 0\n\
        accel_noise_ug_per_sqrt_hz = 0\ngyro_noise_deg_s_per_sqrt_hz = 0\n\
        accel_scale_error_percent = 0\ngyro_scale_error_percent = 0\n\
        accel_cross_axis_percent = 0\ngyro_cross_axis_percent = 0\n";

    fn imu(key: &str, value: f64, resolution: Resolution) -> Imu {
        let keys: String = PERFECT
            .lines()
            .map(|line| match line.starts_with(key) {
                true => format!("{key} = {value}\n"),
                false => format!("{line}\n"),
            })
            .collect();
        Imu::new(&spec(&keys), 100.0, (resolution, resolution), 3)
    }

    fn upright() -> Felt {
        Felt {
            force_m_s2: Vector3::new(0.0, 0.0, GRAVITY_M_S2),
            rate_rad_s: Vector3::new(1.0, 2.0, 3.0),
        }
    }

    #[test]
    fn a_perfect_sensor_reads_what_is_felt() {
        let values = imu("none", 0.0, FINE).read(&upright());
        assert_eq!(values.accel_m_s2, [0.0, 0.0, GRAVITY_M_S2]);
        assert_eq!(values.gyro_rad_s, [1.0, 2.0, 3.0]);
    }

    #[test]
    fn mounting_turns_both_quantities_alike_by_its_angle() {
        let values = imu("mounting_error_deg", 20.0, FINE).read(&upright());
        let force = Vector3::from(values.accel_m_s2);
        let rate = Vector3::from(values.gyro_rad_s);
        assert!((force.norm() - GRAVITY_M_S2).abs() < 1e-12);
        assert!((force.dot(&rate) - 3.0 * GRAVITY_M_S2).abs() < 1e-9);
        // A turn by 20° moves no vector by more than that.
        let moved = force.angle(&Vector3::z()).to_degrees();
        assert!(moved > 1.0 && moved <= 20.0 + 1e-9, "{moved}");
        let trace = imu("mounting_error_deg", 20.0, FINE).to_sensor.trace();
        assert!((trace - (1.0 + 2.0 * 20.0_f64.to_radians().cos())).abs() < 1e-12);
    }

    #[test]
    fn an_offset_has_the_size_it_claims() {
        let values = imu("gyro_offset_deg_s", 1.5, FINE).read(&upright());
        let offset = Vector3::from(values.gyro_rad_s) - Vector3::new(1.0, 2.0, 3.0);
        assert!((offset.norm().to_degrees() - 1.5).abs() < 1e-9);
    }

    #[test]
    fn an_axis_takes_from_the_others_no_more_than_it_claims_and_keeps_its_own() {
        let values = imu("accel_cross_axis_percent", 2.0, FINE).read(&upright());
        let [x, y, z] = values.accel_m_s2;
        assert!((z - GRAVITY_M_S2).abs() < 1e-12 && values.gyro_rad_s == [1.0, 2.0, 3.0]);
        for taken in [x, y] {
            assert!(taken != 0.0 && taken.abs() <= 0.02 * GRAVITY_M_S2, "{taken}");
        }
    }

    #[test]
    fn noise_has_the_spread_its_density_gives() {
        let mut noisy = imu("accel_noise_ug_per_sqrt_hz", 200.0, FINE);
        let n = 20_000;
        let sum: f64 = (0..n).map(|_| noisy.read(&upright()).accel_m_s2[0].powi(2)).sum();
        // 200 µg/√Hz · √50 Hz
        let expected = 200e-6 * GRAVITY_M_S2 * 50.0_f64.sqrt();
        assert!(((sum / f64::from(n)).sqrt() / expected - 1.0).abs() < 0.03);
    }

    #[test]
    fn readings_are_whole_counts_and_end_with_the_range() {
        let coarse = Resolution { step: 0.25, limit: 2.5 };
        let values = imu("none", 0.0, coarse).read(&upright());
        assert_eq!(values.gyro_rad_s, [1.0, 2.0, 2.5]);
        assert_eq!(values.accel_m_s2, [0.0, 0.0, 2.5]);
        assert!(values.flags.accel_saturated && values.flags.gyro_saturated);
        let calm = Felt { force_m_s2: Vector3::new(0.3, -0.1, 1.0), rate_rad_s: Vector3::zeros() };
        let values = imu("none", 0.0, coarse).read(&calm);
        assert_eq!(values.accel_m_s2, [0.25, 0.0, 1.0]);
        assert!(!values.flags.accel_saturated);
    }
}
