//! Excursions of made-up angles: the field's hazards with their own numbers, and the kinds of
//! movement a therapist makes.

use endarc_protocol::words::Direction::{self, External, Internal};
use endarc_protocol::words::TestKind;

use super::Point;
use super::detector::{Detector, Excursion, Noticed};
use super::plateau::{self, Plateau};

/// Runs an angle (deg, internal positive) at 100 Hz through the detector; what is over at the end is
/// cut, as when a span ends.
fn run(angle: impl Fn(f64) -> f64, until_s: f64) -> (Vec<(Direction, Plateau)>, Vec<f64>) {
    let mut captured = Vec::new();
    let found = feed(angle, until_s, &[], |noticed, time_s| {
        if noticed == Noticed::Captured {
            captured.push(time_s);
        }
    });
    (found, captured)
}

/// The same with the therapist's marks, telling what is noticed on the way.
fn feed(
    angle: impl Fn(f64) -> f64,
    until_s: f64,
    marks: &[f64],
    mut tell: impl FnMut(Noticed, f64),
) -> Vec<(Direction, Plateau)> {
    let mut detector = Detector::new(TestKind::ProneHipRotation.directions());
    let mut over: Vec<Excursion> = Vec::new();
    let mut marks = marks.iter().peekable();
    for i in 0..(until_s * 100.0) as u32 {
        let time_s = f64::from(i) / 100.0;
        let (angle_deg, knee_deg) = (angle(time_s), 90.0);
        let point = Point { time_s, angle_deg, knee_deg, roll_deg: None, saturated: false };
        let pushed = detector.push(point);
        let marked = marks.next_if(|mark_s| **mark_s <= time_s).and_then(|_| detector.mark());
        for noticed in [pushed, marked].into_iter().flatten() {
            match noticed {
                Noticed::Over(excursion) => over.push(excursion),
                noticed => tell(noticed, time_s),
            }
        }
    }
    over.extend(detector.cut());
    over.iter().map(|one| (one.direction, plateau::measure(one).unwrap())).collect()
}

/// A path through (time, angle) corners, eased in between (minimum jerk).
fn path(corners: &'static [(f64, f64)]) -> impl Fn(f64) -> f64 {
    move |time| {
        let after = corners.partition_point(|(corner, _)| *corner <= time);
        match (after.checked_sub(1).map(|before| corners[before]), corners.get(after)) {
            (Some((t0, a0)), Some((t1, a1))) => {
                let x = (time - t0) / (t1 - t0);
                a0 + (a1 - a0) * x * x * x * (10.0 - 15.0 * x + 6.0 * x * x)
            }
            (Some((_, angle)), None) => angle,
            (None, next) => next.map_or(0.0, |(_, angle)| *angle),
        }
    }
}

fn tremor(time: f64) -> f64 {
    0.25 * (std::f64::consts::TAU * 6.0 * time).sin()
}

fn directions(found: &[(Direction, Plateau)]) -> Vec<Direction> {
    found.iter().map(|(direction, _)| *direction).collect()
}

/// Hazard: ripple on a slow movement is counted as extra repetitions. Six cycles, eighteen raw maxima.
#[test]
fn ripple_is_not_counted() {
    let tau = std::f64::consts::TAU;
    let (found, _) =
        run(|t| 45.0 * (1.0 - (tau * t / 4.0).cos()) + 1.5 * (tau * 3.0 * t).sin(), 24.0);
    assert_eq!(found.len(), 6);
    for (_, plateau) in &found {
        assert!((plateau.end_range_deg - 90.0).abs() < 2.0, "{}", plateau.end_range_deg);
    }
}

/// Hazard: a held end position is missed or dated wrongly: 3 s at 121.4 that sags to 120.6.
#[test]
fn a_sagging_hold_is_one_end_range() {
    let hold = |t: f64| match t {
        t if t < 1.0 => 0.0,
        t if t < 3.0 => 60.7 * (1.0 - (std::f64::consts::PI * (t - 1.0) / 2.0).cos()),
        t if t < 6.0 => 121.4 - 0.8 * (t - 3.0) / 3.0,
        t => (120.6 - 60.0 * (t - 6.0)).max(0.0),
    };
    let (found, captured) = run(hold, 9.0);
    assert_eq!((found.len(), captured.len()), (1, 1));
    let plateau = found[0].1;
    assert!((plateau.end_range_deg - 121.4).abs() < 0.4, "{}", plateau.end_range_deg);
    assert!((3.0..6.0).contains(&plateau.at_s) && plateau.hold_s > 1.5);
}

/// Hazard: one repetition with a dip half way is cut in two: to 60, back to 52, on to 110.
#[test]
fn a_dip_half_way_is_one_repetition() {
    let corners =
        &[(0.0, 0.0), (1.0, 0.0), (2.5, 60.0), (3.0, 52.0), (4.5, 110.0), (6.5, 0.0), (8.0, 0.0)];
    let (found, _) = run(path(corners), 8.0);
    assert_eq!(found.len(), 1);
    assert!((found[0].1.end_range_deg - 110.0).abs() < 1.0);
}

/// Hazard: the baseline shifts (strap slipped): six cycles from 5 to 95, then six from 23 to 113.
#[test]
fn a_shifted_baseline_loses_no_repetition() {
    let (found, _) = run(
        |t| {
            let low = if t < 24.0 { 5.0 } else { 23.0 };
            low + 45.0 * (1.0 - (std::f64::consts::TAU * t / 4.0).cos())
        },
        48.0,
    );
    assert_eq!(found.len(), 12);
}

#[test]
fn straight_through_from_one_end_to_the_other_is_two() {
    let corners = &[
        (0.0, 0.0),
        (2.0, 0.0),
        (4.0, 32.0),
        (5.5, 32.0),
        (8.0, -38.0),
        (9.5, -38.0),
        (11.0, 0.0),
    ];
    let (found, captured) = run(|t| path(corners)(t) + tremor(t), 12.0);
    assert_eq!(directions(&found), [Internal, External]);
    assert!((found[0].1.end_range_deg - 32.0).abs() < 0.15);
    assert!((found[1].1.end_range_deg - 38.0).abs() < 0.15);
    // The tone comes within 0.7 s of the end being reached.
    assert!((captured[0] - 4.0) < 0.7 && (captured[1] - 8.0) < 0.7, "{captured:?}");
}

#[test]
fn a_touched_end_is_found_without_a_hold() {
    let corners = &[(0.0, 0.0), (2.0, 0.0), (3.5, 30.0), (5.0, 0.0), (6.0, 0.0)];
    let (found, captured) = run(|t| path(corners)(t) + tremor(t), 6.0);
    assert_eq!(found.len(), 1);
    assert!((found[0].1.end_range_deg - 30.0).abs() < 0.3, "{}", found[0].1.end_range_deg);
    assert_eq!(captured.len(), 1);
    assert!(captured[0] - 3.5 < 0.7);
}

/// Out to 30°, 4° given back in a contraction, then on to 35°.
const CONTRACTION: &[(f64, f64)] = &[
    (0.0, 0.0),
    (1.0, 0.0),
    (3.0, -30.0),
    (4.5, -30.0),
    (5.0, -26.0),
    (10.0, -26.0),
    (11.5, -35.0),
    (14.0, -35.0),
    (15.5, 0.0),
    (17.0, 0.0),
];

/// A second push counts as the deeper one; a contraction gives 4° and then goes further.
#[test]
fn pushes_and_contractions_are_one_repetition_at_the_deepest_hold() {
    let (found, captured) = run(|t| path(CONTRACTION)(t) + tremor(t), 17.0);
    assert_eq!(directions(&found), [External]);
    assert!((found[0].1.end_range_deg - 35.0).abs() < 0.15);
    assert_eq!(captured.len(), 1, "one tone, at the first end");
}

#[test]
fn wandering_about_rest_is_no_repetition() {
    let (found, captured) = run(|t| 3.0 * (0.7 * t).sin() + tremor(t), 30.0);
    assert!(found.is_empty() && captured.is_empty());
}

/// A stiff hip that rests at −20° and ends at −8° inward and −33° outward.
#[test]
fn a_stiff_hip_that_never_reaches_neutral() {
    let corners = &[
        (0.0, -20.0),
        (2.0, -20.0),
        (4.0, -8.0),
        (5.5, -8.0),
        (7.5, -20.0),
        (9.0, -20.0),
        (11.0, -33.0),
        (12.5, -33.0),
        (14.0, -20.0),
    ];
    let (found, _) = run(|t| path(corners)(t) + tremor(t), 16.0);
    assert_eq!(directions(&found), [Internal, External]);
    assert!((found[0].1.end_range_deg + 8.0).abs() < 0.2, "{}", found[0].1.end_range_deg);
    assert!((found[1].1.end_range_deg - 33.0).abs() < 0.2);
}

/// At 2 °/s there is no false tone on the way.
#[test]
fn a_slow_movement_is_captured_only_at_its_end() {
    let ramp = |t: f64| (2.0 * (t - 2.0)).clamp(0.0, 30.0) * f64::from(t < 19.5) + tremor(t);
    let (found, captured) = run(ramp, 21.0);
    assert_eq!(found.len(), 1);
    assert!((found[0].1.end_range_deg - 30.0).abs() < 0.3);
    assert!(captured.len() == 1 && captured[0] >= 16.9, "{captured:?}");
}

/// The span ends while the limb is still on its way out: that is no end range.
#[test]
fn a_movement_cut_on_its_way_is_no_repetition() {
    let corners =
        &[(0.0, 0.0), (2.0, 0.0), (4.0, 35.0), (6.0, 35.0), (8.0, 0.0), (9.0, 0.0), (11.0, 35.0)];
    let (found, captured) = run(path(corners), 9.9);
    assert_eq!((found.len(), captured.len()), (1, 1));
}

/// The same shift is noticed once, when the first movement sets out from the new place, and dated from
/// the repetition before; each amplitude is 90.
#[test]
fn a_shifted_baseline_is_noticed_once() {
    let angle = |t: f64| {
        let low = if t < 24.0 { 5.0 } else { 23.0 };
        low + 45.0 * (1.0 - (std::f64::consts::TAU * t / 4.0).cos())
    };
    let mut moved = Vec::new();
    let found = feed(angle, 48.0, &[], |noticed, _| {
        if let Noticed::RestMoved(one) = noticed {
            moved.push(one);
        }
    });
    assert_eq!(moved.len(), 1);
    assert!((moved[0].by_deg - 18.0).abs() < 1.5, "{moved:?}");
    assert!((23.0..25.0).contains(&moved[0].since_s), "in the seventh repetition: {moved:?}");
    let amplitudes = found
        .iter()
        .enumerate()
        .map(|(place, (_, plateau))| plateau.end_range_deg - if place < 6 { 5.0 } else { 23.0 });
    for amplitude in amplitudes {
        assert!((amplitude - 90.0).abs() < 2.0, "{amplitude}");
    }
}

/// A flat top of equal samples and ties at 100 Hz: one end range, dated inside it.
#[test]
fn a_flat_top_of_equal_samples_is_dated_inside() {
    let top = [118.0, 120.0, 121.4, 121.4, 121.4, 121.4, 119.0];
    let angle = |t: f64| {
        let at = (t - 3.0) * 100.0;
        match at.round() {
            at if at < 0.0 => (118.0 + 1.2 * at).max(0.0),
            at => {
                top.get(at as usize).copied().unwrap_or_else(|| (119.0 - 1.2 * (at - 6.0)).max(0.0))
            }
        }
    };
    let (found, captured) = run(angle, 6.0);
    assert_eq!((found.len(), captured.len()), (1, 1));
    assert!((3.0..3.07).contains(&found[0].1.at_s), "{}", found[0].1.at_s);
}

/// A contraction gives 4° and the limb then goes further: one cycle with two barriers.
#[test]
fn a_contraction_has_a_start_and_an_end_barrier() {
    let (found, _) = run(|t| path(CONTRACTION)(t) + tremor(t), 17.0);
    let barriers = found[0].1.barriers.unwrap();
    assert!((barriers.start_deg - 30.0).abs() < 0.3 && (barriers.end_deg - 35.0).abs() < 0.2);
    assert!((4.3..5.0).contains(&barriers.start_s) && (10.8..11.7).contains(&barriers.end_s));
}

/// Working to and fro at the end is no contraction, and one repetition.
#[test]
fn oscillating_at_the_end_is_one_repetition_without_barriers() {
    let angle = |t: f64| {
        let out = path(&[(0.0, 0.0), (1.0, 0.0), (3.0, 30.0), (12.0, 30.0), (14.0, 0.0)])(t);
        let works = (5.0..11.0).contains(&t);
        out - if works { 2.5 * (1.0 - (std::f64::consts::TAU * t).cos()) } else { 0.0 }
    };
    let (found, captured) = run(angle, 16.0);
    assert_eq!((found.len(), captured.len()), (1, 1));
    assert!((found[0].1.end_range_deg - 30.0).abs() < 0.3 && found[0].1.barriers.is_none());
}

/// 4° out of neutral is no repetition by itself, and one when it is marked.
#[test]
fn a_marked_position_counts_however_small() {
    let corners = &[(0.0, 0.0), (2.0, 0.0), (3.0, -4.0), (5.0, -4.0), (6.0, 0.0), (8.0, 0.0)];
    let angle = |t: f64| path(corners)(t) + tremor(t);
    assert!(run(angle, 8.0).0.is_empty());
    let mut captured = Vec::new();
    let found = feed(angle, 8.0, &[4.2], |noticed, time_s| {
        if noticed == Noticed::Captured {
            captured.push(time_s);
        }
    });
    assert_eq!(directions(&found), [External]);
    assert!((found[0].1.end_range_deg - 4.0).abs() < 0.2, "{}", found[0].1.end_range_deg);
    assert_eq!(captured, [4.2]);
}

/// A mark within an excursion that is captured already brings no second tone, and its place is the
/// end range.
#[test]
fn a_mark_says_which_of_two_holds_counts() {
    let corners =
        &[(0.0, 0.0), (1.0, 0.0), (3.0, 30.0), (5.0, 30.0), (6.0, 35.0), (8.0, 35.0), (10.0, 0.0)];
    let mut captured = 0;
    let found = feed(path(corners), 12.0, &[4.5], |noticed, _| {
        captured += usize::from(noticed == Noticed::Captured);
    });
    assert_eq!((found.len(), captured), (1, 1));
    assert!((found[0].1.end_range_deg - 30.0).abs() < 0.2, "{}", found[0].1.end_range_deg);
}
