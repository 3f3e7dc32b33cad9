//! The clock by itself: monotone, even, and no faster in its corrections than it says.

use proptest::prelude::*;

use super::*;

/// Arrivals that come ever earlier than expected pull time down, but never back.
#[test]
fn time_never_steps_back() {
    let mut clock = HostClock::start(Limits::of_timestamps(500.0), 10.0);
    clock.observe(0.0, 9.0);
    // The epoch before ended at 10 s, later than this one's first sample seems to be.
    let mut last_s = clock.place(0.0);
    assert!(last_s > 10.0);
    for step in 1..2000 {
        let sensor_s = f64::from(step) * 0.01;
        clock.observe(sensor_s, 9.0 + sensor_s - 0.5);
        let placed_s = clock.place(sensor_s);
        let spacing_s = placed_s - last_s;
        assert!((0.0099 - 1e-9..=0.0101 + 1e-9).contains(&spacing_s), "{spacing_s}");
        last_s = placed_s;
    }
}

/// An offset that is wrong at first is worked off.
#[test]
fn a_late_first_arrival_is_worked_off() {
    let mut clock = HostClock::start(Limits::of_timestamps(500.0), f64::NEG_INFINITY);
    clock.observe(0.0, 0.2);
    let mut placed_s = clock.place(0.0);
    for step in 1..6000 {
        let sensor_s = f64::from(step) * 0.01;
        clock.observe(sensor_s, sensor_s);
        placed_s = clock.place(sensor_s);
    }
    assert!((placed_s - 59.99).abs() < 0.001, "{placed_s}");
}

/// The line is under all arrivals kept, whatever they are.
#[test]
fn memory_is_bounded_and_the_latest_minutes_count() {
    let mut envelope = Envelope::new(Limits::of_timestamps(500.0));
    let mut true_s = 0.0;
    for step in 0..200_000_u32 {
        // The sensor's clock goes 200 ppm fast for a while, then 50 ppm slow.
        let slope = if step < 100_000 { 1.0 - 200e-6 } else { 1.0 + 50e-6 };
        true_s += 0.01 * slope;
        envelope.add(f64::from(step) * 0.01, true_s + f64::from(step % 7) * 0.003);
    }
    assert!((envelope.slope() - 1.0 - 50e-6).abs() < 5e-6, "{}", envelope.slope());
    assert!((envelope.host_s(1999.99).unwrap() - true_s).abs() < 0.001);
}

proptest! {
    #[test]
    fn spacing_stays_within_the_correction(
        delays in prop::collection::vec(0.0..0.4_f64, 300),
        counted: bool,
    ) {
        let limits = if counted { Limits::of_counter() } else { Limits::of_timestamps(500.0) };
        let mut clock = HostClock::start(limits, f64::NEG_INFINITY);
        let mut last_s = None;
        for (step, delay_s) in delays.into_iter().enumerate() {
            let sensor_s = step as f64 * 0.01;
            clock.observe(sensor_s, sensor_s + delay_s);
            let placed_s = clock.place(sensor_s);
            if let Some(last_s) = last_s.replace(placed_s) {
                let most = if counted { 0.112 } else { 0.011 };
                prop_assert!(((placed_s - last_s) / 0.01 - 1.0).abs() < most);
            }
        }
    }
}
