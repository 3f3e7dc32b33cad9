//! What the field does to a sensor: the filter bounds the harm and says what it met.

use nalgebra::{UnitQuaternion, Vector3};

use super::{every, inclination_error_deg, noisy, samples};
use crate::orientation::{Fault, LiveFilter};

/// A sensor tilted 30 degrees that lies still.
fn tilted() -> UnitQuaternion<f64> {
    UnitQuaternion::from_scaled_axis(Vector3::x() * 30_f64.to_radians())
}

/// The largest inclination error from `from_s` on, in a still sensor with `force` added (earth
/// frame, m/s², by time).
fn worst_with_force_deg(from_s: f64, force: impl Fn(f64) -> Vector3<f64>) -> f64 {
    let mut samples = samples(&every(0.01, 30.0), |_| tilted());
    noisy(&mut samples, 0.1, 0.02);
    let mut filter = LiveFilter::new();
    let mut worst: f64 = 0.0;
    for sample in &mut samples {
        let felt = tilted().inverse() * force(sample.time_s);
        for axis in 0..3 {
            sample.accel_m_s2[axis] += felt[axis];
        }
        let orientation = filter.push(sample);
        assert!(orientation.inclination_sd_rad.is_finite());
        if sample.time_s > from_s {
            worst = worst.max(inclination_error_deg(&orientation, &tilted()));
        }
    }
    worst
}

/// A steady push of 0.35 g looks like 19° to an accelerometer; eight seconds of it cannot be told
/// from a tilt by any filter without position, so this is bounded, not small.
#[test]
fn a_long_push_is_bounded() {
    let push = |time: f64| {
        let on = (10.0..18.0).contains(&time);
        Vector3::x() * if on { 0.35 * 9.81 } else { 0.0 }
    };
    let worst = worst_with_force_deg(2.0, push);
    println!("0.35 g for 8 s: {worst:.2}°");
    assert!(worst < 22.0, "{worst}°");
}

/// A limb's own movement gives back what it takes: to and fro within a second.
#[test]
fn a_movement_to_and_fro_does_little() {
    let to_and_fro =
        |time: f64| Vector3::x() * if time > 10.0 { 3.4 * (6.3 * time).sin() } else { 0.0 };
    let worst = worst_with_force_deg(2.0, to_and_fro);
    println!("0.35 g to and fro at 1 Hz: {worst:.2}°");
    assert!(worst < 1.0, "{worst}°");
}

/// Taps of 4 g for 10 ms, twice a second.
#[test]
fn taps_do_little() {
    let taps = |time: f64| {
        let on = time > 5.0 && (time * 100.0).round() % 50.0 == 0.0;
        Vector3::new(0.7, 0.0, 0.7) * if on { 4.0 * 9.81 } else { 0.0 }
    };
    let worst = worst_with_force_deg(2.0, taps);
    println!("taps: {worst:.2}°");
    // Their mean is 0.06 g across the vertical, which is 3°: the recoil that a real tap has is left out.
    assert!(worst < 5.0, "{worst}°");
}

/// Soft tissue lets a strapped sensor wobble at some 8 Hz after each movement.
#[test]
fn soft_tissue_wobble_does_little() {
    let wobble = |time: f64| {
        let since = time % 2.0;
        Vector3::new(1.0, 0.5, 0.2) * (6.0 * (-since / 0.2).exp() * (50.0 * since).sin())
    };
    let worst = worst_with_force_deg(2.0, wobble);
    println!("wobble: {worst:.2}°");
    assert!(worst < 0.7, "{worst}°");
}

/// From any start the filter settles within half a second of stillness, is right then, and says so.
#[test]
fn it_settles_within_half_a_second_and_says_so() {
    for angle_deg in [0.0, 30.0, 90.0, 179.0, 180.0] {
        let truth = UnitQuaternion::from_scaled_axis(Vector3::y() * f64::to_radians(angle_deg));
        let mut samples = samples(&every(0.01, 1.0), |_| truth);
        noisy(&mut samples, 0.1, 0.025);
        let mut filter = LiveFilter::new();
        assert!(!filter.settled(), "before the first sample");
        let mut settled_at_s = None;
        for sample in &samples {
            let orientation = filter.push(sample);
            if filter.settled() {
                settled_at_s.get_or_insert(sample.time_s);
                let error = inclination_error_deg(&orientation, &truth);
                assert!(error < 1.0, "{error}° when settled");
            }
        }
        assert!(settled_at_s.is_some_and(|time| time <= 0.5), "{angle_deg}°: {settled_at_s:?}");
    }
}

/// Each fault is counted under its own name, and none moves a still sensor.
#[test]
fn faults_are_counted_by_kind() {
    let mut filter = LiveFilter::new();
    let clean = |time: f64| samples(&[time], |_| tilted())[0];
    let mut push = |sample| {
        let orientation = filter.push(&sample);
        assert!(orientation.quaternion.iter().all(|part| part.is_finite()));
        (orientation, *filter.faults())
    };
    for i in 0..300 {
        push(clean(f64::from(i) * 0.01));
    }
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
        for axis in 0..3 {
            let (mut accel, mut gyro) = (clean(3.0), clean(3.0));
            (accel.accel_m_s2[axis], gyro.gyro_rad_s[axis]) = (value, value);
            assert!(!push(accel).0.accepted && !push(gyro).0.accepted);
        }
    }
    assert!(!push(clean(f64::NAN)).0.accepted);
    let mut weightless = clean(3.0);
    weightless.accel_m_s2 = [0.0; 3];
    push(weightless);
    push(clean(2.99));
    push(clean(1.0));
    let (_, faults) = push(clean(3.0));
    assert_eq!(faults.count(Fault::NotFinite), 25);
    assert_eq!(faults.count(Fault::NoForce), 1);
    assert_eq!(faults.count(Fault::NotAfter), 2);
    assert_eq!(faults.rejected(), 28);
    push(clean(3.1));
    push(clean(5.0));
    let mut clipped = clean(5.01);
    clipped.flags.gyro_saturated = true;
    let (last, faults) = push(clipped);
    assert_eq!(faults.count(Fault::Gap), 1);
    assert_eq!(faults.count(Fault::LongGap), 1);
    assert_eq!(faults.count(Fault::Clipped), 1);
    assert!(inclination_error_deg(&last, &tilted()) < 0.01);
}

/// A sample without a time at the very start must not make every later one incomparable.
#[test]
fn a_first_sample_without_a_time_is_rejected() {
    let mut filter = LiveFilter::new();
    let mut sample = samples(&[0.0], |_| tilted())[0];
    sample.time_s = f64::NAN;
    assert!(!filter.push(&sample).accepted);
    sample.time_s = 0.0;
    assert!(filter.push(&sample).accepted);
}

/// A sensor is turned over while nothing arrives: after any pause gravity is found within a second.
#[test]
fn pauses_are_got_over_within_a_second() {
    for pause_s in [0.1, 0.5, 1.0, 5.0, 20.0, 60.0] {
        let after = UnitQuaternion::from_scaled_axis(
            Vector3::x() * (30.0 + 60.0 * f64::min(pause_s, 1.0)).to_radians(),
        );
        let back_s = 5.0 + pause_s;
        let truth = |time: f64| if time > 5.0 { after } else { tilted() };
        let times: Vec<f64> = every(0.01, 5.0)
            .into_iter()
            .chain(every(0.01, 2.0).iter().map(|t| back_s + t))
            .collect();
        let mut samples = samples(&times, truth);
        noisy(&mut samples, 0.1, 0.02);
        let mut filter = LiveFilter::new();
        for sample in &mut samples {
            // It turns unseen, and rests before and after.
            if sample.time_s >= back_s {
                sample.accel_m_s2 = (after.inverse() * Vector3::new(0.0, 0.0, 9.81)).into();
                sample.gyro_rad_s = [0.0; 3];
            }
            let orientation = filter.push(sample);
            let error = inclination_error_deg(&orientation, &truth(sample.time_s));
            if sample.time_s > back_s + 1.0 {
                assert!(error < 1.0 || pause_s < 0.5, "{error}° after {pause_s} s");
                assert!(error < 6.0 + 1e-9, "{error}° after {pause_s} s");
            }
        }
    }
}
