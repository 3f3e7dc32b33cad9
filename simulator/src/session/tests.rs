//! A session: samples, notifications and truth agree.

use std::collections::BTreeMap;

use endarc_protocol::frame::Part;
use endarc_protocol::words::{Phase, Side};

use super::*;

const SHORT: &str = r#"
script = [{ baseline = { side = "right", repetitions = 1 } }]
[[sensors]]
role = "right-shank"
mounting_error_deg = 0
clock_ppm = 200
clock_offset_s = 3
[[sensors]]
role = "pelvis"
clock_ppm = -200
"#;

fn session(extra: &str) -> Session {
    Session::new(&Scenario::parse("session", &format!("{SHORT}\n{extra}")).unwrap())
}

/// A sensor's samples by counter, as its notifications give them when decoded, with the frame's
/// ticks and arrival.
fn decoded(session: &Session, sensor: usize) -> BTreeMap<u64, (Part, Part)> {
    let mut samples = BTreeMap::new();
    for notification in session.notifications().filter(|one| one.sensor == sensor) {
        let profile = &session.sensors()[sensor].profile;
        let layout = profile.stream(notification.characteristic).unwrap();
        let frame = layout.decode(&notification.bytes).unwrap();
        // The tests' visits are shorter than 65536 samples.
        let counter = frame.raw_counter().unwrap();
        for (place, sample) in frame.samples().enumerate() {
            samples.insert(counter + place as u64, (sample.accel, sample.gyro));
        }
    }
    samples
}

fn read(part: Part) -> [f64; 3] {
    match part {
        Part::Read(triple) => triple.values,
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_notifications_carry_is_what_the_samples_are() {
    let session = session("[link]\nloss = 0.1");
    for (sensor, info) in session.sensors().iter().enumerate() {
        let carried = decoded(&session, sensor);
        let samples: Vec<Sample> = session.samples(info.role).collect();
        assert_eq!(carried.len(), samples.len());
        assert!(samples.len() > 1_000);
        for (sample, (accel, gyro)) in samples.iter().zip(carried.values()) {
            assert_eq!(sample.accel_m_s2, read(*accel));
            assert_eq!(sample.gyro_rad_s, read(*gyro));
        }
    }
}

#[test]
fn the_counter_shows_what_was_lost_and_losses_change_nothing_else() {
    let (whole, lossy) = (session(""), session("[link]\nloss = 0.1"));
    let (whole, lossy) = (decoded(&whole, 0), decoded(&lossy, 0));
    let lost = 1.0 - lossy.len() as f64 / whole.len() as f64;
    assert!((0.04..0.18).contains(&lost), "{lost}");
    assert!(lossy.iter().all(|(counter, values)| whole[counter] == *values));
}

#[test]
fn notifications_arrive_in_order_and_after_they_were_sent() {
    let session = session("[link]\nburst_every_s = 3\nburst_s = 0.4");
    let all: Vec<_> = session.notifications().collect();
    assert!(all.windows(2).all(|pair| pair[0].arrival_s <= pair[1].arrival_s));
    for one in &all {
        let pace = if one.sensor == 0 { 1.0002 } else { 0.9998 };
        let delay_s = one.arrival_s - one.sent_s / pace;
        assert!((0.0119..0.6).contains(&delay_s), "{delay_s}");
    }
    let by_sensor = |sensor| all.iter().filter(|one| one.sensor == sensor).count();
    // 20 frames of 5 samples a second each.
    let expected = session.duration_s() * 20.0;
    for sensor in [0, 1] {
        assert!((by_sensor(sensor) as f64 - expected).abs() < 3.0);
    }
}

#[test]
fn frames_carry_the_sensors_own_clock() {
    let session = session("");
    let profile = Profile::reference();
    let layout = &profile.streams()[0];
    let stamps: Vec<(f64, f64)> = session
        .notifications()
        .filter(|one| one.sensor == 0)
        .map(|one| {
            let ticks = layout.decode(&one.bytes).unwrap().raw_ticks().unwrap();
            (one.sent_s, ticks as f64 * layout.tick_s().unwrap())
        })
        .collect();
    for (sent_s, stamp_s) in stamps {
        // Stamped with the first of five samples, sent with the last; the clock began 3 s earlier.
        assert!((stamp_s - (sent_s - 0.04 + 3.0)).abs() < 2e-6);
    }
}

#[test]
fn times_are_on_the_common_clock_at_the_rate_of_the_sensors_own() {
    let session = session("");
    for (role, pace) in [(SensorRole::RightShank, 1.0002), (SensorRole::Pelvis, 0.9998)] {
        let times: Vec<f64> = session.samples(role).map(|sample| sample.time_s).collect();
        let span_s = times[times.len() - 1] - times[0];
        let rate_hz = (times.len() - 1) as f64 / span_s;
        assert!((rate_hz / (100.0 * pace) - 1.0).abs() < 1e-9, "{rate_hz}");
        assert!(times[0] < 0.01 && session.duration_s() - times[times.len() - 1] < 0.06);
    }
    assert_eq!(session.samples(SensorRole::LeftShank).count(), 0);
}

#[test]
fn gravity_in_the_samples_shows_truth_plus_roll_plus_tilt() {
    let session = session(
        "accel_offset_mg = 0\naccel_scale_error_percent = 0\n[body]\ntable_tilt_deg = 1.5\n\
         pelvis_roll_per_deg = 0.2",
    );
    // The keys before [body] belong to the pelvis sensor; the shank keeps its usual errors.
    for one in &session.truth().repetitions {
        assert_eq!((one.side, one.phase), (Side::Right, Phase::Baseline));
        let held: Vec<Sample> = session
            .samples(SensorRole::RightShank)
            .filter(|s| (one.hold_start_s..one.hold_start_s + one.hold_s).contains(&s.time_s))
            .collect();
        let mean = |axis: usize| held.iter().map(|s| s.accel_m_s2[axis]).sum::<f64>();
        let shown_deg = mean(1).atan2(mean(0).hypot(mean(2))).to_degrees();
        let along_deg = (shown_deg - 1.5) * one.direction.sign();
        let expected_deg = one.end_range_deg + one.pelvis_roll_deg;
        // 5 mg of offset are 0.3°.
        assert!((along_deg - expected_deg).abs() < 0.6, "{along_deg} {expected_deg}");
    }
}

#[test]
fn another_profile_gives_the_same_visit_in_other_steps() {
    let coarse = Profile::parse(
        "coarse",
        &endarc_protocol::profile::REFERENCE_TOML.replace("0.0001220703125", "0.001"),
    )
    .unwrap();
    let (fine, coarse) = (session(""), session("").speaking(&coarse));
    let role = SensorRole::RightShank;
    for (a, b) in fine.samples(role).zip(coarse.samples(role)) {
        assert_eq!(a.gyro_rad_s, b.gyro_rad_s);
        for (a, b) in a.accel_m_s2.iter().zip(b.accel_m_s2) {
            assert!((a - b).abs() <= 0.000_57 * 9.806_65);
        }
    }
}

const SHIPPED: [(&str, &str, usize); 7] = [
    ("seated-hip-rotation", include_str!("../../scenarios/seated-hip-rotation.toml"), 12),
    (
        "supine-hanging-hip-rotation",
        include_str!("../../scenarios/supine-hanging-hip-rotation.toml"),
        12,
    ),
    (
        "supine-90-90-hip-rotation",
        include_str!("../../scenarios/supine-90-90-hip-rotation.toml"),
        12,
    ),
    ("prone-both-hips-rotation", include_str!("../../scenarios/prone-both-hips-rotation.toml"), 8),
    ("prone-knee-bend", include_str!("../../scenarios/prone-knee-bend.toml"), 9),
    ("prone-hip-rotation", include_str!("../../scenarios/exchanged.toml"), 8),
    ("prone-hip-rotation", include_str!("../../scenarios/faults.toml"), 12),
];

#[test]
fn every_shipped_scenario_runs_and_its_truth_names_test_and_side() {
    for (test, text, repetitions) in SHIPPED {
        let scenario = Scenario::parse(test, text).unwrap();
        let session = Session::new(&scenario);
        let truth = session.truth();
        assert_eq!((truth.test.as_str(), truth.test), (test, scenario.test()));
        assert_eq!(truth.repetitions.len(), repetitions, "{test}");
        for sensor in session.sensors() {
            let samples = session.samples(sensor.role).count() as f64;
            assert!((samples / 100.0 - session.duration_s()).abs() < 0.2, "{test}");
        }
        let times = truth.repetitions.iter().map(|one| one.start_s);
        assert!(times.is_sorted_by(|a, b| a < &(b + 0.2)), "{test}");
        let events = session.events().iter().map(|event| event.onset_s);
        assert!(events.is_sorted(), "{test}");
    }
}

/// Which way the vertical lies, on average, in a sensor's frame.
fn vertical(session: &Session, role: SensorRole, from_s: f64, to_s: f64) -> nalgebra::Vector3<f64> {
    let samples = session.samples(role).filter(|one| (from_s..to_s).contains(&one.time_s));
    let sum: nalgebra::Vector3<f64> =
        samples.map(|one| nalgebra::Vector3::from(one.accel_m_s2)).sum();
    sum.normalize()
}

#[test]
fn exchanged_sensors_each_show_the_other_leg() {
    let text = |exchanged| {
        format!(
            "exchanged = {exchanged}\nscript = [{{ neutral = {{ side = \"right\", hold_s = 4 }} }}]\n\
             [[sensors]]\nrole = \"left-shank\"\n[[sensors]]\nrole = \"right-shank\"\n"
        )
    };
    for exchanged in [false, true] {
        let session = Session::new(&Scenario::parse("exchange", &text(exchanged)).unwrap());
        let held = session.events()[0];
        let moved = |role| {
            let flat = vertical(&session, role, 0.0, 1.5);
            let later = vertical(&session, role, held.onset_s, held.end_s());
            flat.angle(&later).to_degrees()
        };
        let (right, left) = (moved(SensorRole::RightShank), moved(SensorRole::LeftShank));
        let (raised, resting) = if exchanged { (left, right) } else { (right, left) };
        assert!(raised > 75.0 && resting < 0.2, "{exchanged} {raised} {resting}");
        assert_eq!(session.truth().exchanged, exchanged);
    }
}

#[test]
fn a_strap_that_slips_moves_the_zero_by_its_size_from_its_time_on() {
    let text = |slip: &str| {
        format!(
            "script = [{{ neutral = {{ hold_s = 4 }} }}, {{ strap = {{ {slip} }} }}, \
             {{ neutral = {{ hold_s = 4 }} }}]\n[[sensors]]\nrole = \"left-shank\"\n\
             accel_scale_error_percent = 0\n"
        )
    };
    for (slip, expected_deg) in [("along = 9", 0.0), ("across = 6", 6.0), ("about = -5", 5.0)] {
        let session = Session::new(&Scenario::parse("slip", &text(slip)).unwrap());
        let slips = &session.truth().strap_slips;
        assert_eq!((slips.len(), slips[0].side), (1, Side::Left));
        let [before, after] = [session.events()[0], session.events()[1]];
        assert!(before.end_s() < slips[0].at_s && slips[0].at_s + 0.4 < after.onset_s);
        let vertical =
            |event: Event| vertical(&session, SensorRole::LeftShank, event.onset_s, event.end_s());
        let moved = vertical(before).angle(&vertical(after)).to_degrees();
        // The shank stands within 3° of upright, and wanders.
        assert!((moved - expected_deg).abs() < 0.7, "{slip} {moved}");
    }
}

#[test]
fn a_foot_on_the_floor_takes_the_leg_off_the_table_and_back() {
    for test in ["prone-hip-rotation", "seated-hip-rotation", "supine-90-90-hip-rotation"] {
        let text = format!(
            "test = \"{test}\"\nscript = [{{ foot-down = {{ duration_s = 8 }} }}, {{ neutral = {{}} }}]\n\
             [[sensors]]\nrole = \"right-shank\"\n"
        );
        let session = Session::new(&Scenario::parse("foot", &text).unwrap());
        let at = |from_s| vertical(&session, SensorRole::RightShank, from_s, from_s + 1.0);
        let (before, standing) = (at(0.5), at(8.0));
        // The leg lies again before it is lifted for the neutral hold.
        let back = at(session.events()[0].onset_s - 3.9);
        assert!(before.angle(&standing).to_degrees() > 12.0, "{test}");
        assert!(
            before.angle(&back).to_degrees() < 1.0,
            "{test} {}",
            before.angle(&back).to_degrees()
        );
    }
}
