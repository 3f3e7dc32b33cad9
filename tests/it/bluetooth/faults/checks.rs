//! What must come of each fault.

use endarc_tests::database;
use endarc_tests::database::Gap;

use crate::bluetooth::visit::{Outcome, SENSORS};

/// Samples in a notification of the reference profile, where the MTU holds them.
const PER_NOTIFICATION: u64 = 5;
/// Between two samples, s.
const PERIOD_S: f64 = 0.01;
/// How long the visit's motion takes, s.
const VISIT_S: f64 = 55.0;

/// Of every sensor: what was received is on disk, and what was received and lost is all of the visit.
pub(super) fn all_there(outcome: &Outcome) {
    let stored = database::raw_samples(&outcome.data());
    for (role, _) in SENSORS {
        assert_eq!(stored[role], outcome.count(role, "received"), "{role}");
        let missing_s: f64 = outcome.gaps_of(role).map(|gap| gap.to_s - gap.from_s).sum();
        let received_s = stored[role] as f64 * PERIOD_S;
        assert!(received_s + missing_s > VISIT_S, "{role}: {received_s} s and {missing_s} s");
        let lost: u64 = outcome.gaps_of(role).map(|gap| gap.lost).sum();
        assert_eq!(lost, outcome.count(role, "lost"), "{role}: lost, but not in a gap");
        assert_eq!(outcome.count(role, "late"), 0, "{role}");
    }
}

/// What must be counted of a sensor: lost, duplicate, reordered samples, malformed notifications.
fn counted(outcome: &Outcome, role: &str, expected: [u64; 4]) {
    let names = ["lost", "duplicate", "reordered", "malformed"];
    let counts = names.map(|name| outcome.count(role, name));
    assert_eq!(counts, expected, "{role}: {names:?}");
}

fn only<'a>(outcome: &'a Outcome, role: &'a str) -> &'a Gap {
    let gaps: Vec<_> = outcome.gaps_of(role).collect();
    let [gap] = gaps[..] else { panic!("{role}: not one gap, but {gaps:?}") };
    gap
}

pub(super) fn nothing_missing(outcome: &Outcome) {
    for (role, _) in SENSORS {
        counted(outcome, role, [0; 4]);
    }
    assert_eq!(outcome.gaps, []);
}

pub(super) fn lose(outcome: &Outcome) {
    for (role, notifications) in [("left-shank", 4), ("right-shank", 2), ("pelvis", 1)] {
        let lost = notifications * PER_NOTIFICATION;
        counted(outcome, role, [lost, 0, 0, 0]);
        let gap = only(outcome, role);
        assert_eq!(gap.cause, "samples-missing");
        spans(gap, lost);
    }
}

/// A gap's span is that of the samples that its counter misses.
fn spans(gap: &Gap, lost: u64) {
    assert_eq!(gap.lost, lost);
    let span_s = gap.to_s - gap.from_s;
    assert!((span_s - (lost + 1) as f64 * PERIOD_S).abs() < 0.5 * PERIOD_S, "{gap:?}");
}

pub(super) fn repeat(outcome: &Outcome) {
    assert_eq!(outcome.count("pelvis", "battery_percent"), 9);
    assert_eq!(outcome.count("left-shank", "battery_percent"), 87);
    counted(outcome, "left-shank", [0, 7 * PER_NOTIFICATION, 0, 0]);
    counted(outcome, "pelvis", [0, 3 * PER_NOTIFICATION, 0, 0]);
    counted(outcome, "right-shank", [0; 4]);
    assert_eq!(outcome.gaps, []);
}

pub(super) fn reorder(outcome: &Outcome) {
    counted(outcome, "left-shank", [0, 0, 6 * PER_NOTIFICATION, 0]);
    counted(outcome, "pelvis", [0, 0, 2 * PER_NOTIFICATION, 0]);
    counted(outcome, "right-shank", [0; 4]);
    assert_eq!(outcome.gaps, []);
}

pub(super) fn corrupt(outcome: &Outcome) {
    for (role, notifications) in [("left-shank", 4), ("right-shank", 2)] {
        let lost = notifications * PER_NOTIFICATION;
        counted(outcome, role, [lost, 0, 0, notifications]);
        let gap = only(outcome, role);
        assert_eq!(gap.cause, "malformed");
        spans(gap, lost);
    }
    counted(outcome, "pelvis", [0; 4]);
}

pub(super) fn silence(outcome: &Outcome) {
    let gap = only(outcome, "left-shank");
    assert_eq!(gap.cause, "silent");
    // Of whole notifications; the link's jitter moves their number by one.
    assert!((245..=255).contains(&gap.lost), "{gap:?}");
    spans(gap, gap.lost);
    counted(outcome, "left-shank", [gap.lost, 0, 0, 0]);
    counted(outcome, "pelvis", [0; 4]);
    silent_too_long(outcome);
}

/// The link stands, but nothing comes: it is ended after five seconds and taken up again. The sensor
/// is silent for two more.
fn silent_too_long(outcome: &Outcome) {
    let gaps: Vec<_> = outcome.gaps_of("right-shank").collect();
    assert!(gaps.iter().all(|gap| gap.cause == "silent"), "{gaps:?}");
    let missing_s: f64 = gaps.iter().map(|gap| gap.to_s - gap.from_s).sum();
    assert!((7.0..15.0).contains(&missing_s), "{gaps:?}");
}

pub(super) fn disconnect(outcome: &Outcome) {
    for role in ["left-shank", "right-shank"] {
        let gap = only(outcome, role);
        assert_eq!(gap.cause, "link-lost");
        assert!(gap.to_s - gap.from_s < 4.0, "{gap:?}");
    }
    counted(outcome, "pelvis", [0; 4]);
}

/// Counter and clock begin anew while the link stands: one short gap, and not a counter's whole range.
pub(super) fn reset(outcome: &Outcome) {
    for role in ["left-shank", "right-shank"] {
        let gap = only(outcome, role);
        assert_eq!((gap.cause.as_str(), gap.lost), ("sensor-restarted", 0));
        assert!(gap.to_s - gap.from_s < 0.3, "{gap:?}");
    }
    counted(outcome, "pelvis", [0; 4]);
}

/// What all sensors lose, and have again within ten seconds (H25).
pub(super) fn taken_up_again(outcome: &Outcome) {
    for (role, _) in SENSORS {
        let gap = only(outcome, role);
        let cause = gap.cause.as_str();
        assert!(["link-lost", "silent"].contains(&cause), "{gap:?}");
        assert!((0.5..11.0).contains(&(gap.to_s - gap.from_s)), "{gap:?}");
        assert_eq!(outcome.count(role, "malformed"), 0, "{role}");
    }
}

pub(super) fn removed(outcome: &Outcome) {
    for role in ["left-shank", "right-shank"] {
        let gap = only(outcome, role);
        assert_eq!(gap.cause, "link-lost");
        // It must be found by a scan, and while others stream scans are rationed.
        assert!(gap.to_s - gap.from_s < 15.0, "{gap:?}");
    }
    counted(outcome, "pelvis", [0; 4]);
}

/// Out of reach for longer than an attempt to connect lasts: BlueZ goes on trying, and what it then
/// connected by itself is taken over. All were refused twice before the visit began.
pub(super) fn away(outcome: &Outcome) {
    let gap = only(outcome, "right-shank");
    assert_eq!(gap.cause, "link-lost");
    assert!((20.0..28.0).contains(&(gap.to_s - gap.from_s)), "{gap:?}");
    counted(outcome, "left-shank", [0; 4]);
    counted(outcome, "pelvis", [0; 4]);
}
