//! Sensors that number their samples in other ways: by time only, by nothing, by the last sample.

use super::*;

/// Five samples a notification, with the given lines for counter and timestamp.
fn profile(numbering: &str, samples: &str) -> Profile {
    let text = format!(
        r#"
name = "numbers"
rate_hz = 100
[match]
name_prefix = "N"
[[stream]]
characteristic = "00000000-0000-0000-0000-000000000001"
endian = "little"
samples = {{ at = 2, size = 12, {samples} }}
{numbering}
accel = {{ at = 0, type = "i16", unit = "g", scale = 0.001 }}
gyro = {{ at = 6, type = "i16", unit = "deg/s", scale = 0.0625 }}
"#
    );
    Profile::parse("numbers.toml", &text).unwrap()
}

const MILLISECONDS: &str = r#"timestamp = { at = 0, type = "u16", tick_s = 0.001 }"#;

/// Frame `frame` of five samples at `rate_hz`, stamped in milliseconds.
fn stamped(bench: &mut Bench, frame: u64, rate_hz: f64, of_last: bool) {
    let sample_s = |sample: u64| sample as f64 / rate_hz;
    let stamp = sample_s(5 * frame + if of_last { 4 } else { 0 });
    let ticks = (stamp * 1000.0).floor() as u64;
    bench.hear(sample_s(5 * frame + 4), 5 * frame, ticks, &[turning(0.0); 5]);
}

/// Timestamps alone tell a loss and its size, at a rate that is not the nominal one, and through
/// many roll-overs of a 16-bit clock.
#[test]
fn timestamps_alone_number_the_samples() {
    for rate_hz in [100.0, 96.0, 104.0] {
        let mut bench = Bench::new(profile(MILLISECONDS, "fixed = 5"));
        let frames = 5_000;
        for frame in (0..frames).filter(|frame| !(1_000..1_003).contains(frame)) {
            stamped(&mut bench, frame, rate_hz, false);
        }
        let numbers: Vec<u64> = (0..5 * frames).filter(|n| !(5_000..5_015).contains(n)).collect();
        assert!(bench.numbers() == numbers, "{rate_hz}");
        let [gap] = bench.gaps()[..] else { panic!("one gap") };
        assert_eq!(gap.lost, 15);
        assert!((bench.stream.rate_hz().unwrap() - rate_hz).abs() < 0.2);
        let after_settling = &bench.spacings()[500..4_900];
        assert!(after_settling.iter().all(|spacing_s| (spacing_s * rate_hz - 1.0).abs() < 0.012));
    }
}

/// A stamp of the last sample is one of the last sample.
#[test]
fn a_stamp_may_be_that_of_the_last_sample() {
    let numbering = MILLISECONDS.replace(" }", r#", of = "last" }"#);
    let mut bench = Bench::new(profile(&numbering, "fixed = 5"));
    (0..100).for_each(|frame| stamped(&mut bench, frame, 100.0, true));
    let readings = bench.readings();
    assert_eq!(readings.len(), 500);
    assert!(bench.gaps().is_empty());
    // From the second frame on, as the first one's earlier samples lie before the clock's zero.
    for reading in &readings[5..] {
        assert_eq!(reading.ticks, 10 * reading.counter);
        assert!((reading.sample.time_s - reading.counter as f64 * 0.01).abs() < 0.001);
    }
}

/// Without counter and timestamp samples are counted as they come; a long silence begins an epoch.
#[test]
fn nothing_numbers_the_samples() {
    let mut bench = Bench::new(profile("", "at_most = 8"));
    let frame_s = 0.05;
    for frame in (0..200).chain(260..300) {
        let number = if frame % 2 == 0 { 4 } else { 6 };
        let arrival_s = f64::from(frame) * frame_s + f64::from(number) * 0.01;
        bench.hear(arrival_s, 0, 0, &vec![turning(0.0); number as usize]);
    }
    assert_eq!(bench.readings().len(), 1_200);
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.cause, gap.lost), (GapCause::Silence, 0));
    assert!((gap.to_s - gap.from_s - 3.0).abs() < 0.05, "{gap:?}");
}

/// The sensor pauses without counting: its clock shows the pause, and time follows.
#[test]
fn a_pause_that_only_the_clock_shows_is_in_the_times() {
    let mut bench = Bench::reference();
    (0..100).for_each(|counter| bench.on_time(counter));
    for counter in 100..200 {
        let late_s = 3.0 + counter as f64 * 0.01;
        bench.hear(late_s, counter, counter * 10_000 + 3_000_000, &[turning(0.0)]);
    }
    assert_eq!(bench.stream.epochs(), 1);
    assert_eq!(bench.stream.counters().lost, 0);
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.cause, gap.lost), (GapCause::Pause, 0));
    let longest_s = bench.spacings().into_iter().fold(0.0, f64::max);
    assert!((longest_s - 3.01).abs() < 0.001);
}
