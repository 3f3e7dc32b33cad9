//! What is switched on sends a session's own notifications, however long it rested before.

use endarc_protocol::frame::Part;

use super::*;
use crate::scenario::Scenario;

const SCENARIO: &str = r#"
seed = 11
[link]
loss = 0.05
[[sensors]]
role = "left-shank"
clock_offset_s = 12.5
[[script]]
align-knee = { times = 2 }
"#;

fn session() -> Session {
    Session::new(&Scenario::parse("test.toml", SCENARIO).unwrap())
}

/// A reference frame's counter, clock (µs) and samples (see `reference.md` of the profiles).
fn parts(bytes: &[u8]) -> (u64, u64, &[u8]) {
    let counter = u16::from_le_bytes([bytes[2], bytes[3]]);
    let ticks = u32::from_le_bytes(bytes[4..8].try_into().unwrap());
    (u64::from(counter), u64::from(ticks), &bytes[8..])
}

#[test]
fn the_visit_is_that_of_the_session() {
    let session = session();
    let expected: Vec<_> = session.notifications().collect();
    let mut on_air = session.on_air(0).unwrap();
    while on_air.next().at_s < 3.0 {}
    let (first, zero_s) = session.earliest_visit(3.0);
    let ahead_s = zero_s - 3.0;
    assert!(
        first.is_multiple_of(5) && (AHEAD_S..AHEAD_S + 0.3).contains(&ahead_s),
        "{first} {zero_s}"
    );
    on_air.begin(first, zero_s);
    // What was still on its way at rest arrives before the first frame of the visit is full.
    let visit = std::iter::repeat_with(|| on_air.next());
    let visit = visit.skip_while(|sent| sent.at_s < zero_s + 0.05);
    for (expected, sent) in expected.iter().zip(visit) {
        let (counter, ticks, samples) = parts(&sent.bytes);
        let (wanted_counter, wanted_ticks, wanted_samples) = parts(&expected.bytes);
        assert_eq!(counter, wanted_counter + first);
        let rested_us = (zero_s * 1e6).round() as u64;
        assert!((wanted_ticks + rested_us).abs_diff(ticks) <= 1);
        assert!((sent.at_s - zero_s - expected.arrival_s).abs() < 1e-9);
        assert_eq!(samples, wanted_samples);
    }
}

#[test]
fn a_restart_sets_counter_and_clock_to_zero_and_loses_nothing() {
    let mut on_air = session().on_air(0).unwrap();
    let counters = |on_air: &mut OnAir| parts(&on_air.next().bytes).0;
    assert_eq!([0; 3].map(|_| counters(&mut on_air)), [0, 5, 10]);
    on_air.restart();
    assert_eq!([0; 3].map(|_| counters(&mut on_air)), [0, 5, 10]);
}

#[test]
fn whoever_rests_feels_gravity_alone() {
    let session = session();
    let mut on_air = session.on_air(0).unwrap();
    let layout = &session.sensors()[0].profile.streams()[0];
    for _ in 0..40 {
        let bytes = on_air.next().bytes;
        for sample in layout.decode(&bytes).unwrap().samples() {
            let (Part::Read(accel), Part::Read(gyro)) = (sample.accel, sample.gyro) else {
                panic!("no reading: {sample:?}");
            };
            let length = accel.values.iter().map(|axis| axis * axis).sum::<f64>().sqrt();
            assert!((length - GRAVITY_M_S2).abs() < 0.3, "{length}");
            assert!(gyro.values.iter().all(|rate| rate.abs() < 0.05), "{gyro:?}");
        }
    }
}
