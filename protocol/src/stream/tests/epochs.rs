//! H07: a dirty start, after a reconnect or a silent restart of the sensor.

use super::*;

/// Runs up to counter 5321, as the hazard has it: 100 Hz, clock 53.21 s.
fn until_5321() -> Bench {
    let mut bench = Bench::reference();
    (5_200..=5_321).for_each(|counter| bench.on_time(counter));
    bench
}

/// Samples of a sensor that began anew at `start_s`.
fn anew(bench: &mut Bench, start_s: f64) {
    for counter in 0..50 {
        let arrival_s = start_s + counter as f64 * 0.01;
        bench.hear(arrival_s, counter, counter * 10_000, &[turning(0.0)]);
    }
}

fn assert_one_gap_of_3_4_s(bench: &Bench) {
    let [gap] = bench.gaps()[..] else { panic!("one gap, not {:?}", bench.gaps()) };
    assert_eq!((gap.lost, gap.cause), (0, GapCause::Restart));
    assert!((gap.to_s - gap.from_s - 3.4).abs() < 0.001, "{gap:?}");
    assert_eq!(bench.stream.counters().lost, 0);
    assert_eq!(bench.stream.epochs(), 2);
    assert!(bench.spacings().iter().all(|spacing_s| *spacing_s > 0.0));
    assert_eq!(bench.readings().len(), 122 + 50);
    assert_eq!(bench.numbers()[122..125], [0, 1, 2]);
}

/// H07 (a): the link drops for 3.4 s, then counter and clock are 0: not 60214 lost.
#[test]
fn a_reconnect_is_a_new_epoch() {
    let mut bench = until_5321();
    bench.stream.restart(56.5);
    anew(&mut bench, 53.21 + 3.4);
    assert_one_gap_of_3_4_s(&bench);
}

/// H07 (b): the same without anyone noticing.
#[test]
fn a_silent_restart_is_a_new_epoch() {
    let mut bench = until_5321();
    anew(&mut bench, 53.21 + 3.4);
    assert_one_gap_of_3_4_s(&bench);
}

/// H07 (b) with no pause at all: counter 5400 and then 0, 10 ms later.
#[test]
fn a_restart_without_a_pause_is_no_loss() {
    let mut bench = Bench::reference();
    (5_300..=5_400).for_each(|counter| bench.on_time(counter));
    anew(&mut bench, 54.01);
    assert_eq!(bench.stream.epochs(), 2);
    assert_eq!(bench.stream.counters().lost, 0);
    assert_eq!(bench.readings().len(), 151);
    assert!(bench.spacings().iter().all(|spacing_s| *spacing_s > 0.0));
}

/// A restart so soon after the last that the new numbers look like late ones.
#[test]
fn a_restart_a_little_back_is_noticed() {
    let mut bench = Bench::reference();
    (0..=120).for_each(|counter| bench.on_time(counter));
    anew(&mut bench, 1.4);
    let counters = bench.stream.counters();
    assert_eq!(bench.stream.epochs(), 2);
    assert!(counters.late + counters.duplicate <= 12, "{counters:?}");
    assert_eq!(counters.received + counters.late + counters.duplicate, 121 + 50);
}

/// H07 (c): the first notification after subscribing carries "no data".
#[test]
fn a_no_data_marker_at_the_start_is_no_reading() {
    let mut bench = Bench::reference();
    let nothing = [0xa1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x80, 0, 0x80, 0, 0x80];
    bench.bytes(0.0, &nothing);
    assert!(bench.out.is_empty());
    (1..10).for_each(|counter| bench.on_time(counter));
    assert_eq!(bench.readings().len(), 9);
    assert!(bench.gaps().is_empty());
    let counters = bench.stream.counters();
    assert_eq!((counters.no_data, counters.lost, counters.saturated), (1, 0, 0));
}

/// The same in the middle is a gap with its own cause.
#[test]
fn a_no_data_marker_in_the_middle_is_a_gap() {
    let mut bench = Bench::reference();
    (0..10).for_each(|counter| bench.on_time(counter));
    let nothing = Values { gyro_rad_s: [f64::NAN; 3], ..turning(0.0) };
    bench.hear(0.10, 10, 100_000, &[nothing]);
    bench.on_time(11);
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.cause, gap.lost), (GapCause::NoData, 0));
    assert!((gap.to_s - gap.from_s - 0.02).abs() < 1e-6);
}

/// H07 (d): the first notification after the reconnect is the old 5322, then 0.
#[test]
fn a_leftover_of_the_old_epoch_is_not_used() {
    let mut bench = until_5321();
    bench.stream.restart(56.5);
    bench.hear(56.6, 5_322, 53_220_000, &[turning(0.0)]);
    anew(&mut bench, 53.21 + 3.4);
    assert_eq!(bench.stream.counters().late, 1);
    assert_one_gap_of_3_4_s(&bench);
}

/// A sensor whose counter and clock go on while the link is away.
#[test]
fn a_sensor_that_kept_counting_goes_on_in_a_new_epoch() {
    let mut bench = until_5321();
    bench.stream.restart(56.5);
    (5_661..5_700).for_each(|counter| bench.on_time(counter));
    assert_eq!(bench.numbers()[122], 5_661);
    assert_eq!(bench.stream.counters().late, 0);
    assert_eq!(bench.stream.epochs(), 2);
    assert_eq!(bench.gaps().len(), 1);
}

/// An 8-bit counter shows the same value again after 2.56 s: a longer silence starts an epoch.
#[test]
fn a_silence_longer_than_the_counter_is_a_gap_by_the_host() {
    let mut bench = Bench::new(counter_only());
    (0..100).for_each(|counter| bench.on_time(counter));
    (430..500).for_each(|counter| bench.on_time(counter));
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!(gap.cause, GapCause::Silence);
    assert!((gap.to_s - gap.from_s - 3.31).abs() < 0.01);
}
