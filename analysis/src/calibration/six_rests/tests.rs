//! Against sensors whose errors are known, laid down by a careless hand.

use nalgebra::{Rotation3, Unit};

use super::*;

/// Numbers that look random and are the same in every run (Park & Miller's generator).
struct Chance(u64);

impl Chance {
    /// Uniform in −1…1.
    fn next(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 0x7fff_ffff;
        2.0 * self.0 as f64 / f64::from(0x7fff_ffff) - 1.0
    }

    fn vector(&mut self, size: f64) -> Vector3<f64> {
        Vector3::new(self.next(), self.next(), self.next()) * size
    }
}

/// A sensor: `reading = gain · force + offset`.
struct Sensor {
    gain: Matrix3<f64>,
    offset: Vector3<f64>,
    gyro_offset: Vector3<f64>,
}

impl Sensor {
    fn random(chance: &mut Chance, cross_axis: f64) -> Self {
        let scale = chance.vector(0.02);
        let cross = chance.vector(cross_axis);
        let gain = Matrix3::new(
            1.0 + scale.x,
            cross.x,
            cross.y,
            cross.x,
            1.0 + scale.y,
            cross.z,
            cross.y,
            cross.z,
            1.0 + scale.z,
        );
        Self { gain, offset: chance.vector(0.4), gyro_offset: chance.vector(0.03) }
    }

    /// A second and more of readings with this much of noise (m/s²), `up` being on top.
    fn lie(
        &self,
        up: Vector3<f64>,
        lasts_s: f64,
        noise: f64,
        chance: &mut Chance,
        to: &mut Vec<Sample>,
    ) {
        let from_s = to.last().map_or(0.0, |last| last.time_s) + 0.01;
        let count = (lasts_s * 100.0) as i32;
        for n in 0..count {
            let force = self.gain * up.normalize() * STANDARD_GRAVITY_M_S2 + self.offset;
            let force = force + chance.vector(noise);
            let rate = self.gyro_offset + chance.vector(0.1 * noise);
            to.push(Sample {
                time_s: from_s + f64::from(n) / 100.0,
                accel_m_s2: force.into(),
                gyro_rad_s: rate.into(),
                ..Sample::default()
            });
        }
    }
}

/// The direction that is up when a face is on top, laid down so many degrees off.
fn up(face: Face, askew_deg: f64, chance: &mut Chance) -> Vector3<f64> {
    let straight = match face {
        Face::XUp => Vector3::x(),
        Face::XDown => -Vector3::x(),
        Face::YUp => Vector3::y(),
        Face::YDown => -Vector3::y(),
        Face::ZUp => Vector3::z(),
        Face::ZDown => -Vector3::z(),
    };
    let axis = Unit::new_normalize(chance.vector(1.0));
    Rotation3::from_axis_angle(&axis, askew_deg.to_radians()) * straight
}

fn six(sensor: &Sensor, askew_deg: f64, chance: &mut Chance) -> Vec<Sample> {
    let mut samples = Vec::new();
    for face in Face::ALL {
        let up = up(face, askew_deg, chance);
        sensor.lie(up, 5.0, 0.05, chance, &mut samples);
    }
    samples
}

#[test]
fn offset_and_scale_follow_from_six_careless_rests() {
    let mut chance = Chance(7);
    for _ in 0..40 {
        let sensor = Sensor::random(&mut chance, 0.0);
        let calibration = SixRests::of(&six(&sensor, 8.0, &mut chance)).calibration().unwrap();
        let error = calibration.accel_offset_m_s2 - sensor.offset;
        assert!(error.amax() < 0.005, "{error}");
        let matrix = calibration.accel_matrix * sensor.gain;
        assert!((matrix - Matrix3::identity()).amax() < 1e-3, "{matrix}");
        assert!((calibration.gyro_offset_rad_s - sensor.gyro_offset).amax() < 5e-4);
    }
}

#[test]
fn what_six_rests_leave_open_is_within_the_stated_uncertainty() {
    let mut chance = Chance(99);
    let (mut within, mut all) = (0.0, 0.0);
    for _ in 0..60 {
        let sensor = Sensor::random(&mut chance, 0.008);
        let calibration = SixRests::of(&six(&sensor, 6.0, &mut chance)).calibration().unwrap();
        let error = calibration.accel_offset_m_s2 - sensor.offset;
        let sd = calibration.accel_offset_sd_m_s2();
        for axis in 0..3 {
            all += 1.0;
            within += if error[axis].abs() < 1.96 * sd[axis] { 1.0 } else { 0.0 };
        }
        // The faces show nothing of it.
        assert!(calibration.accel_matrix_sd[(0, 1)] > 0.003, "{}", calibration.accel_matrix_sd);
        assert!(calibration.accel_matrix_sd[(0, 0)] < 0.002, "{}", calibration.accel_matrix_sd);
    }
    assert!(within / all > 0.9, "{within} of {all}");
}

#[test]
fn rests_between_the_faces_show_the_cross_axis() {
    let mut chance = Chance(3);
    let sensor = Sensor::random(&mut chance, 0.01);
    let mut samples = six(&sensor, 5.0, &mut chance);
    for edge in
        [[1.0, 1.0, 0.0], [1.0, -1.0, 0.0], [1.0, 0.0, 1.0], [0.0, 1.0, 1.0], [-1.0, 0.0, 1.0]]
    {
        sensor.lie(Vector3::from(edge), 5.0, 0.05, &mut chance, &mut samples);
    }
    let calibration = SixRests::of(&samples).calibration().unwrap();
    assert_eq!(calibration.rests, 11);
    // The inverse of a symmetric matrix is symmetric, so nothing is left open.
    let matrix = calibration.accel_matrix * sensor.gain;
    assert!((matrix - Matrix3::identity()).amax() < 1.5e-3, "{matrix}");
    let reading = &samples[250];
    let up = Vector3::from(calibration.apply(reading).accel_m_s2);
    assert!((up.norm() - STANDARD_GRAVITY_M_S2).abs() < 0.15);
}

fn refusal(samples: &[Sample]) -> SixRestsError {
    SixRests::of(samples).calibration().unwrap_err()
}

#[test]
fn a_face_that_is_missing_is_named_and_so_is_the_one_that_came_twice() {
    let mut chance = Chance(5);
    let sensor = Sensor::random(&mut chance, 0.0);
    let mut samples = Vec::new();
    for face in [Face::ZUp, Face::ZDown, Face::XUp, Face::YUp, Face::YDown, Face::XUp] {
        sensor.lie(up(face, 3.0, &mut chance), 5.0, 0.05, &mut chance, &mut samples);
    }
    let error = refusal(&samples);
    let expected =
        SixRestsError::FaceMissing { missing: vec![Face::XDown], repeated: vec![Face::XUp] };
    assert_eq!(error, expected);
    assert!(error.to_string().contains("x down (but more than once: x up)"), "{error}");
}

#[test]
fn a_hand_that_does_not_let_go_and_a_short_rest_are_told_apart() {
    let mut chance = Chance(5);
    let sensor = Sensor::random(&mut chance, 0.0);
    let held = |noise: f64, lasts_s: f64, chance: &mut Chance| {
        let mut samples = Vec::new();
        for face in Face::ALL {
            let last = face == Face::YDown;
            let (noise, lasts_s) = if last { (noise, lasts_s) } else { (0.05, 5.0) };
            sensor.lie(up(face, 3.0, chance), lasts_s, noise, chance, &mut samples);
        }
        samples
    };
    assert_eq!(refusal(&held(1.5, 5.0, &mut chance)), SixRestsError::Moved { face: Face::YDown });
    let short = refusal(&held(0.05, 2.2, &mut chance));
    assert!(matches!(short, SixRestsError::TooShort { face: Face::YDown, .. }), "{short}");
}

#[test]
fn wrong_units_and_impossible_sensors_are_refused() {
    let mut chance = Chance(11);
    let mut sensor = Sensor::random(&mut chance, 0.0);
    let good = six(&sensor, 4.0, &mut chance);
    let in_g: Vec<Sample> =
        good.iter().map(|s| Sample { accel_m_s2: s.accel_m_s2.map(|a| a / 9.81), ..*s }).collect();
    assert!(matches!(refusal(&in_g), SixRestsError::NotGravity { .. }));
    let turning: Vec<Sample> = good
        .iter()
        .map(|s| {
            let turns = if s.time_s > 20.0 && s.time_s < 25.0 { 0.05 } else { 0.0 };
            Sample { gyro_rad_s: s.gyro_rad_s.map(|rate| rate + turns), ..*s }
        })
        .collect();
    assert!(matches!(refusal(&turning), SixRestsError::RatesDiffer { .. }));
    sensor.gain[(1, 1)] = 0.9;
    let weak = six(&sensor, 2.0, &mut chance);
    assert!(matches!(refusal(&weak), SixRestsError::Implausible { axis: 'y', .. }));
}

#[test]
fn rests_that_do_not_fit_one_sensor_are_refused() {
    let mut chance = Chance(13);
    let sensor = Sensor::random(&mut chance, 0.0);
    let mut samples = six(&sensor, 4.0, &mut chance);
    // Touched in between: its offset is another one now.
    let touched = Sensor { offset: sensor.offset + Vector3::new(0.2, -0.2, 0.2), ..sensor };
    samples.extend(
        six(&touched, 4.0, &mut chance)
            .into_iter()
            .map(|s| Sample { time_s: s.time_s + 60.0, ..s }),
    );
    assert!(matches!(refusal(&samples), SixRestsError::Residual { .. }));
}

#[test]
fn progress_tells_the_face_and_how_long_it_has_rested() {
    let mut chance = Chance(17);
    let sensor = Sensor::random(&mut chance, 0.0);
    let mut samples = Vec::new();
    sensor.lie(up(Face::XUp, 3.0, &mut chance), 5.0, 0.05, &mut chance, &mut samples);
    let progress = SixRests::of(&samples).progress();
    assert_eq!((progress.on_top, progress.still), (Some(Face::XUp), true));
    assert!(progress.has(Face::XUp) && !progress.has(Face::ZUp) && !progress.is_complete());
    assert!(SixRests::of(&six(&sensor, 3.0, &mut chance)).progress().is_complete());
    assert_eq!(SixRests::default().progress().on_top, None);
}
