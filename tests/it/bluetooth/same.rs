//! Whether a visit's repetitions are those of another one with the same motion.

use std::path::Path;

use endarc_tests::database::Gap;
use endarc_tests::recorded::{self, Value};

/// Two clock fits place the same samples within this of each other, s.
const SAME_TIME_S: f64 = 0.25;
/// By how much a value may differ, in stated standard uncertainties: final ones of both visits may be off
/// by theirs; a live one, above all the first, rests on what the filter has learnt of the sensor by
/// then, and that on how long it rested before the visit.
const SAME_FINAL: f64 = 2.0;
const SAME_LIVE: f64 = 4.0;
/// By how much differences between repetitions may differ, degrees: what a visit's values have in
/// common, an offset of the sensor, is not in it.
const SAME_DIFFERENCE_DEG: f64 = 0.2;
/// A hole between two samples from which on a repetition is marked, s.
const MARKED_S: f64 = 0.1;
/// A movement's first sample may lie a little before its start, s.
const BEFORE_S: f64 = 0.3;
/// How long the way back takes at most, s: a hole in it marks the repetition too.
const BACK_S: f64 = 3.0;
/// What a hole makes of a repetition is said by one of these.
const MARKS: [&str; 2] = ["gap", "pelvis-not-seen"];

/// What is wrong with the repetitions of `data`, held against those of `undisturbed`: where no gap
/// touches them they are equal, where one does they are marked.
pub(super) fn differences(data: &Path, undisturbed: &Path, gaps: &[Gap]) -> Vec<String> {
    let zero_s = recorded::first_span_s(data) - recorded::first_span_s(undisturbed);
    // Of what is measured: the left shank, and the pelvis under it.
    let holes: Vec<&Gap> = gaps
        .iter()
        .filter(|gap| gap.role != "right-shank" && gap.to_s - gap.from_s > MARKED_S)
        .collect();
    let any =
        |from_s: f64, to_s: f64| holes.iter().any(|hole| hole.from_s < to_s && hole.to_s > from_s);
    // A shank that comes back on the way out is heard from there on; the pelvis counts at the end.
    let through = |value: &Value| {
        holes.iter().any(|hole| {
            let from_s = match hole.role.as_str() {
                "pelvis" => value.end_range_at_s - value.hold_s / 2.0,
                _ => value.start_s + BEFORE_S,
            };
            hole.from_s < value.end_range_at_s && hole.to_s > from_s
        })
    };
    let mut wrong = Vec::new();
    for kind in ["live", "final"] {
        let (found, expected) = (recorded::values(data, kind), recorded::values(undisturbed, kind));
        let mut equal: Vec<(&Value, f64)> = Vec::new();
        for one in &expected {
            let at_s = one.end_range_at_s + zero_s;
            let same = |other: &&Value| {
                // The moment of an end that is held may be anywhere in its hold.
                let within_s = SAME_TIME_S + one.hold_s.max(other.hold_s) / 2.0;
                other.what == one.what && (other.end_range_at_s - at_s).abs() < within_s
            };
            let around = |value: &Value, zero_s: f64| {
                let end_s = value.end_range_at_s + value.hold_s / 2.0;
                any(value.start_s + zero_s - BEFORE_S, end_s + zero_s + BACK_S)
            };
            match found.iter().find(same) {
                Some(same) if !around(same, 0.0) => {
                    wrong.extend(unequal(kind, same, one));
                    equal.push((one, same.end_range_deg - one.end_range_deg));
                }
                // A hole after its end comes too late for a live value.
                Some(same) if through(same) && !is_marked(same) => {
                    wrong.push(format!("{kind}: not marked: {same:?}"));
                }
                Some(_) => {}
                // A hole may hide it, or move its end.
                None if around(one, zero_s) => {}
                None => wrong.push(format!("{kind}: missed: {one:?}")),
            }
        }
        if kind == "final" {
            wrong.extend(equal.windows(2).filter_map(|pair| apart(pair[0], pair[1])));
        }
        let invented = found.len().saturating_sub(expected.len());
        if invented > 0 {
            wrong.push(format!("{kind}: {invented} invented: {found:?}"));
        }
    }
    wrong
}

fn is_marked(value: &Value) -> bool {
    value.flags.iter().any(|flag| MARKS.contains(&flag.as_str()))
}

fn unequal(kind: &str, one: &Value, other: &Value) -> Option<String> {
    let allowed = if kind == "final" { SAME_FINAL } else { SAME_LIVE };
    let allowed_deg = allowed * one.uncertainty_deg.max(other.uncertainty_deg);
    let difference_deg = one.end_range_deg - other.end_range_deg;
    println!("    {kind} {}: {difference_deg:+.3}°", one.what[2]);
    (difference_deg.abs() > allowed_deg || one.flags != other.flags)
        .then(|| format!("{kind}: differs by {difference_deg:.3}°: {one:?}, not {other:?}"))
}

/// Two repetitions in the same direction differ from each other by what they did undisturbed.
fn apart(one: (&Value, f64), next: (&Value, f64)) -> Option<String> {
    let apart_deg = next.1 - one.1;
    (one.0.what == next.0.what && apart_deg.abs() > SAME_DIFFERENCE_DEG)
        .then(|| format!("the difference between two differs by {apart_deg:.3}°: {:?}", one.0))
}
