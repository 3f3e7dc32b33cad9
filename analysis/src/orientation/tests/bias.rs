//! What the live filter learns of the gyroscope's bias, and when it says so.

use nalgebra::{Matrix3, UnitQuaternion, Vector3};

use super::{every, inclination_error_deg, noisy, samples};
use crate::orientation::LiveFilter;

/// Two seconds on the table are enough for a cheap sensor's bias; a held limb shows none.
#[test]
fn a_second_of_rest_shows_the_bias() {
    let truth = |time: f64| {
        UnitQuaternion::from_scaled_axis(Vector3::x() * 0.01 * (50.0 * time.max(2.0)).sin())
    };
    let bias = Vector3::new(-1.4, 0.1, -0.4) * 1_f64.to_radians();
    let mut samples = samples(&every(0.01, 4.0), truth);
    noisy(&mut samples, 0.1, 0.025);
    for sample in &mut samples {
        for axis in 0..3 {
            sample.gyro_rad_s[axis] += bias[axis];
        }
    }
    let mut filter = LiveFilter::new();
    for sample in &samples[..70] {
        filter.push(sample);
    }
    assert_eq!(filter.bias_state().learnt_at_s, None);
    for sample in &samples[70..] {
        filter.push(sample);
    }
    let state = filter.bias_state();
    assert!(state.learnt_at_s.is_some_and(|time| (1.5..2.2).contains(&time)), "{state:?}");
    let error = (Vector3::from(state.bias_rad_s) - bias).map(f64::to_degrees);
    let sd = Vector3::from(state.sd_rad_s).map(f64::to_degrees);
    assert!(error.norm() < 0.05 && sd.max() < 0.1, "{error} {sd}");
}

/// Without any rest, gravity shows the bias of a swinging limb, and says honestly how well.
#[test]
fn gravity_shows_the_bias_of_a_limb_that_never_rests() {
    let truth = |time: f64| {
        UnitQuaternion::from_scaled_axis(Vector3::x() * 0.8 * (2.0 * time).sin())
            * UnitQuaternion::from_scaled_axis(Vector3::y() * 0.1 * (9.0 * time).sin())
    };
    let bias = Vector3::new(0.8, -1.2, 0.5) * 1_f64.to_radians();
    let mut samples = samples(&every(0.01, 60.0), truth);
    noisy(&mut samples, 0.1, 0.5);
    let mut filter = LiveFilter::new();
    for (place, sample) in samples.iter_mut().enumerate() {
        for axis in 0..3 {
            sample.gyro_rad_s[axis] += bias[axis];
        }
        filter.push(sample);
        let state = filter.bias_state();
        let error = Vector3::from(state.bias_rad_s) - bias;
        for axis in 0..3 {
            let share = error[axis].abs() / state.sd_rad_s[axis];
            assert!(share < 2.5, "{share} of its uncertainty on axis {axis}, {place}");
        }
    }
    let state = filter.bias_state();
    assert_eq!(state.learnt_at_s, None);
    let error = (Vector3::from(state.bias_rad_s) - bias).map(f64::to_degrees);
    // About the vertical, on average along z, a symmetric swing shows next to nothing.
    assert!(error.xy().norm() < 0.1, "{error}");
}

/// A limb that turns slowly about all its axes shows a gyroscope's scale and skew: 0.5 % and 0.3° here,
/// which turn gravity by a degree at first.
#[test]
fn gravity_shows_scale_and_axes_of_a_limb_that_turns_all_ways() {
    let truth = |time: f64| {
        let swing = |axis: Vector3<f64>, rate: f64| {
            UnitQuaternion::from_scaled_axis(axis * (3.0 * (rate * time).sin()))
        };
        swing(Vector3::z(), 0.2) * swing(Vector3::y(), 0.31) * swing(Vector3::x(), 0.42)
    };
    let shown = Matrix3::new(1.005, 0.005, 0.0, -0.005, 0.995, 0.0, 0.0, 0.005, 1.005);
    let mut samples = samples(&every(0.01, 120.0), truth);
    noisy(&mut samples, 0.1, 0.3);
    let mut filter = LiveFilter::new();
    let (mut worst_early_deg, mut worst_late_deg): (f64, f64) = (0.0, 0.0);
    for sample in &mut samples {
        sample.gyro_rad_s = (shown * Vector3::from(sample.gyro_rad_s)).into();
        let orientation = filter.push(sample);
        let error_deg = inclination_error_deg(&orientation, &truth(sample.time_s));
        if sample.time_s > 60.0 {
            worst_late_deg = worst_late_deg.max(error_deg);
        } else if sample.time_s > 5.0 {
            worst_early_deg = worst_early_deg.max(error_deg);
        }
    }
    println!("worst {worst_early_deg:.2}°, after a minute {worst_late_deg:.2}°");
    assert!(worst_late_deg < 0.6 * worst_early_deg && worst_late_deg < 0.6, "{worst_late_deg}°");
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        let scale = axis.dot(&filter.bias().corrected(&(shown * axis)));
        println!("{scale:.4} about {axis:?}");
        assert!((scale - 1.0).abs() < 0.003, "{scale} about {axis}");
    }
}

/// A leg that only swings about its hinge, with a true gyroscope, must not be taught a false scale.
#[test]
fn a_hinge_teaches_a_true_gyroscope_no_false_scale() {
    let truth =
        |time: f64| UnitQuaternion::from_scaled_axis(Vector3::x() * 0.8 * (2.0 * time).sin());
    let mut samples = samples(&every(0.01, 60.0), truth);
    noisy(&mut samples, 0.1, 0.3);
    let mut filter = LiveFilter::new();
    for sample in &samples {
        filter.push(sample);
    }
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        let error = (filter.bias().corrected(&axis) - filter.bias().corrected(&-axis)) * 0.5 - axis;
        assert!(error.norm() < 0.003, "{error} about {axis}");
    }
}
