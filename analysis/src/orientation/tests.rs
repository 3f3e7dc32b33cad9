//! The filters against motions whose truth is known exactly, and against the field's hazards.

use endarc_protocol::sample::{Flags, Sample};
use nalgebra::{UnitQuaternion, Vector3};

use super::{LiveFilter, Orientation, smooth};

mod bias;
mod hindrances;

/// Noise-free samples of a sensor at a fixed place: attitude at each time, sensor → earth.
fn samples(times: &[f64], attitude: impl Fn(f64) -> UnitQuaternion<f64>) -> Vec<Sample> {
    let mut before = attitude(times[0]);
    let mut time_before = times[0] - 0.01;
    times
        .iter()
        .map(|&time_s| {
            let now = attitude(time_s);
            let rate = (before.inverse() * now).scaled_axis() / (time_s - time_before);
            let middle = before.slerp(&now, 0.5);
            (before, time_before) = (now, time_s);
            Sample {
                time_s,
                accel_m_s2: (middle.inverse() * Vector3::new(0.0, 0.0, 9.81)).into(),
                gyro_rad_s: rate.into(),
                flags: Flags::default(),
            }
        })
        .collect()
}

fn every(interval_s: f64, until_s: f64) -> Vec<f64> {
    (0..(until_s / interval_s) as u32).map(|i| f64::from(i) * interval_s).collect()
}

fn live(samples: &[Sample]) -> Vec<Orientation> {
    let mut filter = LiveFilter::new();
    samples.iter().map(|sample| filter.push(sample)).collect()
}

fn inclination_error_deg(orientation: &Orientation, truth: &UnitQuaternion<f64>) -> f64 {
    orientation.up().angle(&(truth.inverse() * Vector3::z())).to_degrees()
}

/// A deterministic noise of about unit variance (sum of twelve uniform values, Irwin–Hall).
fn noise(seed: &mut u64) -> f64 {
    (0..12)
        .map(|_| {
            *seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (*seed >> 11) as f64 / (1_u64 << 53) as f64
        })
        .sum::<f64>()
        - 6.0
}

fn noisy(samples: &mut [Sample], rate_deg_s: f64, force_m_s2: f64) {
    let mut seed = 7;
    for sample in samples {
        for value in &mut sample.gyro_rad_s {
            *value += noise(&mut seed) * rate_deg_s.to_radians();
        }
        for value in &mut sample.accel_m_s2 {
            *value += noise(&mut seed) * force_m_s2;
        }
    }
}

/// Ten seconds of rest, 1.5 °/s for 20 s, 5 s of rest, with a small true bias.
fn slow_turn(axis: Vector3<f64>) -> (Vec<Sample>, impl Fn(f64) -> UnitQuaternion<f64>) {
    let truth = move |time: f64| {
        let angle = 1.5_f64.to_radians() * (time - 10.0).clamp(0.0, 20.0);
        UnitQuaternion::from_scaled_axis(axis * angle)
    };
    let mut samples = samples(&every(0.01, 35.0), truth);
    noisy(&mut samples, 0.05, 0.02);
    for sample in &mut samples {
        sample.gyro_rad_s[0] += 0.3_f64.to_radians();
        sample.gyro_rad_s[2] -= 0.3_f64.to_radians();
    }
    (samples, truth)
}

/// Slow true motion must not be learnt as bias (hazard: common filters lose 3° to 19° here).
#[test]
fn a_slow_turn_is_not_taken_for_bias() {
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        let (samples, truth) = slow_turn(axis);
        for orientations in [live(&samples), smooth(&samples)] {
            let mut worst: f64 = 0.0;
            for (sample, orientation) in samples.iter().zip(&orientations).skip(500) {
                worst = worst.max(inclination_error_deg(orientation, &truth(sample.time_s)));
            }
            assert!(worst < 0.5, "inclination off by {worst}° about {axis}");
        }
        let orientations = live(&samples);
        let attitude = |place: usize| {
            let [w, x, y, z] = orientations[place].quaternion;
            UnitQuaternion::from_quaternion(nalgebra::Quaternion::new(w, x, y, z))
        };
        let turned = attitude(999).angle_to(&attitude(3499)).to_degrees();
        assert!((turned - 30.0).abs() < 0.5, "turned {turned}° about {axis}");
    }
}

/// Turned over at the start: found at once, not after the time constant.
#[test]
fn starts_from_gravity_whichever_way_up() {
    let upside_down = UnitQuaternion::from_scaled_axis(Vector3::x() * std::f64::consts::PI);
    let mut samples = samples(&every(0.01, 1.0), |_| upside_down);
    noisy(&mut samples, 0.05, 0.02);
    let orientations = live(&samples);
    let at_half_second = inclination_error_deg(&orientations[50], &upside_down);
    assert!(at_half_second < 0.2, "{at_half_second}°");
    assert!(orientations[99].inclination_sd_rad < 1.0_f64.to_radians());
}

/// 104 Hz for a nominal 100: the true spacing decides.
#[test]
fn the_true_spacing_decides() {
    let truth = |time: f64| {
        let angle = std::f64::consts::FRAC_PI_2 * (time - 2.0).clamp(0.0, 1.0);
        UnitQuaternion::from_scaled_axis(Vector3::y() * angle)
    };
    let samples = samples(&every(1.0 / 104.0, 3.1), truth);
    let last = live(&samples).pop().unwrap();
    let error = inclination_error_deg(&last, &truth(3.1));
    assert!(error < 0.3, "{error}° after 90° in one second");
}

/// Spacings of zero, negative, huge: not integrated, no NaN, tilt stays.
#[test]
fn pauses_and_clock_jumps_do_no_harm() {
    let tilt = UnitQuaternion::from_scaled_axis(Vector3::x() * 30_f64.to_radians());
    let mut time = 0.0;
    let mut filter = LiveFilter::new();
    let steps =
        std::iter::repeat_n(0.01, 300).chain([0.0, -0.02, 0.01, 45.0, 189_216_000.0, 0.01, 60.0]);
    for step in steps {
        time += step;
        let mut sample = samples(&[time], |_| tilt)[0];
        sample.gyro_rad_s = [0.002, 0.0, 0.0];
        let orientation = filter.push(&sample);
        assert_eq!(orientation.accepted, step > 0.0);
        assert!(inclination_error_deg(&orientation, &tilt) < 1.0, "after a step of {step} s");
        // The rejected sample's time is not taken over.
        time -= step.min(0.0);
    }
}

/// One bad vector is rejected and poisons nothing: a clean 90° turn afterwards reads 90°.
#[test]
fn a_bad_sample_is_rejected_and_forgotten() {
    let truth = |time: f64| {
        let angle = std::f64::consts::FRAC_PI_2 * (time - 3.2).clamp(0.0, 1.0);
        UnitQuaternion::from_scaled_axis(Vector3::x() * angle)
    };
    let mut samples = samples(&every(0.01, 4.5), truth);
    samples[300].gyro_rad_s[0] = f64::NAN;
    samples[301].accel_m_s2 = [0.0; 3];
    samples[302].accel_m_s2[1] = f64::INFINITY;
    for orientations in [live(&samples), smooth(&samples)] {
        assert!(!orientations[300].accepted && !orientations[301].accepted);
        assert_eq!(orientations[302].quaternion, orientations[299].quaternion);
        let end = orientations.last().unwrap();
        assert!(end.accepted && inclination_error_deg(end, &truth(4.5)) < 0.5);
    }
}

/// Six samples missing in a turn at 150 °/s: counting samples would lose 9°.
#[test]
fn missing_samples_are_bridged_by_time() {
    let truth = |time: f64| {
        let angle = 150_f64.to_radians() * (time - 2.0).clamp(0.0, 0.5);
        UnitQuaternion::from_scaled_axis(Vector3::y() * angle)
    };
    let mut samples = samples(&every(0.01, 2.6), truth);
    samples.drain(220..226);
    let last = live(&samples).pop().unwrap();
    assert!(inclination_error_deg(&last, &truth(2.6)) < 0.5);
}

/// A gyroscope at the end of its range loses 45° here; unflagged, filters carry that for six seconds.
#[test]
fn after_a_clipped_turn_gravity_is_found_again_within_a_second() {
    let truth = |time: f64| {
        let angle = 400_f64.to_radians() * (time - 2.0).clamp(0.0, 0.3);
        UnitQuaternion::from_scaled_axis(Vector3::x() * angle)
    };
    let mut samples = samples(&every(0.01, 6.0), truth);
    let limit = 250_f64.to_radians();
    for sample in &mut samples {
        if sample.gyro_rad_s[0] > limit {
            sample.gyro_rad_s[0] = limit;
            sample.flags.gyro_saturated = true;
        }
    }
    let orientations = live(&samples);
    let after_a_second = inclination_error_deg(&orientations[330], &truth(3.3));
    assert!(after_a_second < 2.0, "{after_a_second}°");
}

/// No orientation depends on a later sample.
#[test]
fn the_live_filter_is_causal() {
    let (samples, _) = slow_turn(Vector3::x());
    let all = live(&samples);
    assert_eq!(live(&samples[..700]), all[..700]);
}

#[test]
fn one_sample_is_answered() {
    let samples = samples(&[0.0], |_| UnitQuaternion::identity());
    assert!(live(&samples)[0].accepted);
    assert!(smooth(&samples)[0].accepted);
    assert!(smooth(&[]).is_empty());
}
