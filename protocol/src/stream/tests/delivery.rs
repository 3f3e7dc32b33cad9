//! H02, H20, H21: bursts, and notifications that are refused.

use super::*;

/// H02 (a): eight notifications in two bursts; their samples are 10 ms apart all the same.
#[test]
fn a_burst_does_not_bend_time() {
    let arrivals_ms = [1000.0, 1000.3, 1000.9, 1001.2, 1047.8, 1048.0, 1048.1, 1048.3];
    let mut bench = Bench::reference();
    for (index, arrival_ms) in arrivals_ms.into_iter().enumerate() {
        let index = index as u64;
        bench.hear(arrival_ms * 1e-3, 40 + index, 400_000 + 10_000 * index, &[turning(0.0)]);
    }
    assert_eq!(bench.numbers(), [40, 41, 42, 43, 44, 45, 46, 47]);
    for spacing_s in bench.spacings() {
        assert!((spacing_s - 0.01).abs() <= 0.01 * 0.0101, "{spacing_s}");
    }
    // No rate is computed from arrival differences.
    assert_eq!(bench.stream.rate_hz(), None);
}

/// H02 (a) for a sensor that sends no time: the rate is not taken from the burst either.
#[test]
fn a_burst_does_not_bend_time_without_timestamps() {
    let arrivals_ms = [1000.0, 1000.3, 1000.9, 1001.2, 1047.8, 1048.0, 1048.1, 1048.3];
    let mut bench = Bench::new(counter_only());
    for (index, arrival_ms) in arrivals_ms.into_iter().enumerate() {
        bench.hear(arrival_ms * 1e-3, 40 + index as u64, 0, &[turning(0.0)]);
    }
    assert!(bench.spacings().iter().all(|spacing_s| (spacing_s - 0.01).abs() <= 0.01 * 0.0101));
}

/// H02 (b): five samples and one stamp, arriving 40 ms after the notification before.
#[test]
fn samples_of_one_notification_are_spread() {
    let mut bench = Bench::reference();
    for frame in 0..20_u64 {
        let late_s = if frame % 2 == 1 { 0.04 - 0.05 } else { 0.0 };
        let arrival_s = 1.0 + frame as f64 * 0.05 + late_s;
        bench.hear(arrival_s, 5 * frame, 50_000 * frame, &[turning(0.0); 5]);
    }
    assert_eq!(bench.readings().len(), 100);
    for spacing_s in bench.spacings() {
        assert!((spacing_s - 0.01).abs() <= 0.01 * 0.0101, "{spacing_s}");
    }
}

/// While nothing is missing, a sample leaves in the call that brought it.
#[test]
fn nothing_waits_while_nothing_is_missing() {
    let mut bench = Bench::reference();
    for counter in 0..200 {
        bench.on_time(counter);
        assert_eq!(bench.out.len() as u64, counter + 1);
    }
}

/// H20: both halves of a cut notification are refused with the one clear message.
#[test]
fn a_cut_notification_is_refused_and_the_next_starts_afresh() {
    let mut bench = Bench::reference();
    bench.on_time(0);
    let mut two = Vec::new();
    let outgoing = Outgoing { counter: 1, ticks: 10_000, samples: &[turning(0.0); 2] };
    bench.profile.streams()[0].encode(&outgoing, &mut two).unwrap();
    bench.bytes(0.02, &two[..20]);
    bench.on_time(3);
    bench.stream.flush(&mut bench.out);
    let Output::Malformed { arrival_s, error } = &bench.out[1] else { panic!() };
    assert_eq!(*arrival_s, 0.02);
    assert_eq!(*error, DecodeError::PacketSizeTooSmall { got: 20, expected: 32 });
    assert_eq!(bench.numbers(), [0, 3]);
    assert_eq!(bench.stream.counters().lost, 2);
    assert_eq!(bench.stream.counters().malformed, 1);
}

/// H21: one counter per reason, and the stream goes on.
#[test]
fn refusals_are_counted_by_reason() {
    let mut bench = Bench::reference();
    bench.on_time(0);
    for length in [0, 1, 3, 7] {
        bench.bytes(0.001, &vec![0; length]);
    }
    bench.bytes(0.002, &[0xa1, 1, 0, 0, 0, 0, 0, 0]);
    bench.bytes(0.003, &[0xff; 244]);
    for count in [0, 255] {
        let mut bytes = [0; 20];
        bytes[..2].copy_from_slice(&[0xa1, count]);
        bench.bytes(0.004, &bytes);
    }
    bench.stream.push(0.005, Uuid::nil(), &[], &mut bench.out);
    bench.on_time(1);
    assert_eq!(bench.numbers(), [0, 1]);
    let counts: Vec<_> = bench.stream.malformed_by_reason().filter(|(_, n)| *n > 0).collect();
    assert_eq!(
        counts,
        [
            (Reason::UnknownCharacteristic, 1),
            (Reason::Length, 5),
            (Reason::Header, 1),
            (Reason::SampleCount, 2),
        ]
    );
    assert_eq!(bench.stream.counters().malformed, 9);
}

/// H14: readings at the end of the range are counted.
#[test]
fn saturated_readings_are_counted() {
    let mut bench = Bench::reference();
    for counter in 0..60 {
        let rate_deg_s = if (10..40).contains(&counter) { 700.0 } else { 0.0 };
        bench.hear(counter as f64 * 0.01, counter, counter * 10_000, &[turning(rate_deg_s)]);
    }
    assert_eq!(bench.stream.counters().saturated, 30);
    let readings = bench.readings();
    assert!(readings[10].sample.flags.gyro_saturated && !readings[10].sample.flags.accel_saturated);
    assert_eq!(readings[10].counts, Some([8192, 0, 0, 0, 0, 32_767]));
}
