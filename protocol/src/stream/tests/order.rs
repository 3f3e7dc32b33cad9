//! H01, H05, H06: counters that roll over, and samples lost, doubled, swapped or late.

use proptest::prelude::*;

use super::*;
use crate::fuzz_bodies;

/// H01 (c): the u32 microsecond clock rolls over in the middle of a visit.
#[test]
fn time_goes_on_through_a_roll_over() {
    let mut bench = Bench::reference();
    for counter in 0..600_u64 {
        // Counter and clock both roll over at the third sample.
        let ticks = 4_294_959_796 + 5_000 * counter;
        bench.hear(counter as f64 * 0.005, 65_534 + counter, ticks, &[turning(0.0)]);
    }
    let bench = Bench { out: bench.out, ..Bench::reference() };
    let readings = bench.readings();
    assert_eq!(readings.len(), 600);
    assert!(readings.windows(2).all(|pair| pair[1].ticks - pair[0].ticks == 5_000));
    assert!(readings.windows(2).all(|pair| pair[1].counter - pair[0].counter == 1));
    assert!(bench.gaps().is_empty());
}

/// H05 (a): six samples lost in a turn at 150 deg/s: counting samples would lose 9 deg.
#[test]
fn a_loss_is_a_gap_and_time_goes_on() {
    let mut bench = Bench::reference();
    for counter in (0..100).filter(|counter| !(40..46).contains(counter)) {
        bench.hear(counter as f64 * 0.01, counter, counter * 10_000, &[turning(150.0)]);
    }
    bench.stream.flush(&mut bench.out);
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.lost, gap.cause), (6, GapCause::Lost));
    assert!((gap.to_s - gap.from_s - 0.07).abs() < 0.001);
    assert_eq!(bench.stream.counters().lost, 6);
    assert!((bench.turned_deg() - 150.0 * 0.99).abs() < 0.1, "{}", bench.turned_deg());
}

/// H05 (b) and (c): an 8-bit counter at its roll-over, with nothing and with two lost.
#[test]
fn a_loss_at_the_roll_over_is_counted_right() {
    for (counters, lost) in [([254, 255, 256, 257], 0), ([253, 254, 257, 258], 2)] {
        let mut bench = Bench::new(counter_only());
        for counter in counters {
            bench.hear(counter as f64 * 0.01, counter, 0, &[turning(0.0)]);
        }
        bench.stream.flush(&mut bench.out);
        assert_eq!(bench.stream.counters().lost, lost);
        assert_eq!(bench.numbers(), counters);
    }
}

/// H06: 100, 101, 103, 102, 104, 104, 105 are 100 to 105 once each, in order.
#[test]
fn doubled_and_swapped_samples_come_out_once_in_order() {
    let mut bench = Bench::reference();
    for (place, counter) in [100, 101, 103, 102, 104, 104, 105].into_iter().enumerate() {
        let arrival_s = 1.0 + place as f64 * 0.01;
        bench.hear(arrival_s, counter, counter * 10_000, &[turning(0.0)]);
    }
    assert_eq!(bench.numbers(), [100, 101, 102, 103, 104, 105]);
    let Counters { duplicate, reordered, lost, late, .. } = bench.stream.counters();
    assert_eq!((duplicate, reordered, lost, late), (1, 1, 0, 0));
    assert!(bench.gaps().is_empty());
}

/// H06: what comes after the window of about 100 ms is late, and not used.
#[test]
fn what_comes_too_late_is_not_used() {
    let mut bench = Bench::reference();
    for counter in (0..20).filter(|counter| *counter != 3) {
        bench.on_time(counter);
        let waiting = 3..=13;
        if waiting.contains(&counter) {
            assert_eq!(bench.readings().len(), 3, "{counter}");
        }
    }
    assert_eq!(bench.readings().len(), 19);
    bench.hear(0.2, 3, 30_000, &[turning(0.0)]);
    bench.on_time(20);
    let Counters { lost, late, received, .. } = bench.stream.counters();
    assert_eq!((lost, late, received), (1, 1, 20));
    assert_eq!(bench.gaps().len(), 1);
}

/// A hole is also given up when what follows comes so slowly that the window's samples do not.
#[test]
fn a_hole_is_not_waited_for_longer_than_the_window() {
    let mut bench = Bench::reference();
    bench.on_time(0);
    bench.on_time(2);
    assert_eq!(bench.readings().len(), 1);
    bench.hear(0.130, 3, 30_000, &[turning(0.0)]);
    assert_eq!(bench.numbers(), [0, 2, 3]);
}

/// A loss far larger than the window, by a counter of the right age.
#[test]
fn a_long_loss_is_one_gap() {
    let mut bench = Bench::reference();
    (0..100).chain(6_000..6_100).for_each(|counter| bench.on_time(counter));
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.lost, gap.cause), (5_900, GapCause::Lost));
    assert!((gap.to_s - gap.from_s - 59.01).abs() < 0.01);
}

#[derive(Debug, Clone, Copy)]
enum Fate {
    OnTime,
    Lost,
    Doubled,
    Swapped,
}

proptest! {
    /// Whatever is lost, doubled or swapped: all that arrived comes out once and in order, and
    /// every sample is accounted for.
    #[test]
    fn every_sample_is_accounted_for(
        fates in prop::collection::vec(
            prop_oneof![
                6 => Just(Fate::OnTime),
                1 => Just(Fate::Lost),
                1 => Just(Fate::Doubled),
                1 => Just(Fate::Swapped),
            ],
            40,
        )
    ) {
        // Each frame with its fate; a swapped one changes places with the one after it.
        let mut arriving: Vec<u64> = Vec::new();
        let mut held = None;
        for (frame, fate) in (1_u64..).zip(&fates) {
            match fate {
                Fate::Lost => {}
                Fate::Swapped if held.is_none() => {
                    held = Some(frame);
                    continue;
                }
                Fate::OnTime | Fate::Swapped => arriving.push(frame),
                Fate::Doubled => arriving.extend([frame, frame]),
            }
            arriving.extend(held.take());
        }
        arriving.extend(held);
        let mut bench = Bench::reference();
        bench.hear(0.0, 0, 0, &[turning(0.0); 5]);
        let mut arrival_s = 0.0_f64;
        for frame in &arriving {
            arrival_s = arrival_s.max(0.05 * *frame as f64);
            bench.hear(arrival_s, 5 * frame, 50_000 * frame, &[turning(0.0); 5]);
        }
        bench.stream.flush(&mut bench.out);
        let mut distinct = arriving.clone();
        distinct.sort_unstable();
        distinct.dedup();
        let counters = bench.stream.counters();
        prop_assert_eq!(counters.received, 5 * (distinct.len() as u64 + 1));
        prop_assert_eq!(counters.duplicate, 5 * (arriving.len() - distinct.len()) as u64);
        prop_assert_eq!(counters.late, 0);
        let last = distinct.last().copied().unwrap_or(0);
        prop_assert_eq!(counters.received + counters.lost, 5 * (last + 1));
        prop_assert_eq!(bench.gaps().iter().map(|gap| gap.lost).sum::<u64>(), counters.lost);
        prop_assert!(bench.numbers().windows(2).all(|pair| pair[0] < pair[1]));
        prop_assert!(bench.spacings().iter().all(|spacing_s| *spacing_s > 0.0));
    }

    /// Any bytes at any time, also well-formed ones: no panic, and times increase.
    #[test]
    fn no_notifications_panic(
        notifications in prop::collection::vec(
            (0_u16..3000, any::<u8>(), prop_oneof![
                prop::collection::vec(any::<u8>(), 0..40),
                (any::<u16>(), any::<u32>()).prop_map(|(counter, ticks)| frame(counter, ticks)),
                (0_u16..40, 0_u32..400_000).prop_map(|(counter, ticks)| frame(counter, ticks)),
                any::<u8>().prop_map(|counter| [&[counter][..], &[1; 12]].concat()),
            ]),
            0..60,
        )
    ) {
        for profile in [Profile::reference(), counter_only(), split::profile()] {
            fuzz_bodies::stream(&profile, &notifications);
        }
    }
}

/// A well-formed frame of the reference profile.
fn frame(counter: u16, ticks: u32) -> Vec<u8> {
    let head = [&[0xa1, 1][..], &counter.to_le_bytes(), &ticks.to_le_bytes()].concat();
    [head, vec![1; 12]].concat()
}
