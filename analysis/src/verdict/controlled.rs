//! What the treated leg changed by beyond what the other one did.
//!
//! One treats the tighter side, and the tighter of two measurements is more often than not the one that
//! was measured too tight: it comes back by itself (regression to the mean). Whatever else happened
//! to both legs in between, warmth or a rater's firmer hand, is in the other leg's change as well.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::conditions::Conditions;
use super::ends::Ends;
use super::error::ChangeError;
use super::looks::LEAST_REPETITIONS;
use super::unseen::Unseen;
use crate::result::Repetition;

/// Change of the treated leg minus that of the other.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlledChange {
    /// The leg that was treated.
    pub treated: Side,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
    /// Change of the treated leg, degrees.
    pub treated_change_deg: f64,
    /// Change of the other, degrees.
    pub untreated_change_deg: f64,
    /// Their difference, degrees.
    pub difference_deg: f64,
    /// Its 95 % interval, wider than that of either change, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// The same in one plain sentence.
    pub statement: String,
}

/// Treated minus untreated change, for each direction and the total; those that were measured at
/// least three times in all four places.
#[must_use]
pub fn controlled_changes(
    conditions: &Conditions,
    treated: Side,
    test: TestKind,
    repetitions: &[Repetition],
) -> Vec<ControlledChange> {
    let pair = |side, direction| {
        [Phase::Baseline, Phase::Retest].map(|phase| Ends::of(side, direction, phase, repetitions))
    };
    let mut rows: Vec<_> = test
        .directions()
        .iter()
        .map(|&d| (Some(d), pair(treated, d), pair(treated.other(), d)))
        .collect();
    if let [(_, one, other_one), (_, two, other_two)] = rows.as_slice() {
        let sum = |one: &[Ends; 2], two: &[Ends; 2]| [one[0].plus(&two[0]), one[1].plus(&two[1])];
        rows.push((None, sum(one, two), sum(other_one, other_two)));
    }
    rows.iter()
        .filter_map(|(direction, own, other)| compare(conditions, treated, *direction, own, other))
        .collect()
}

fn compare(
    conditions: &Conditions,
    treated: Side,
    direction: Option<Direction>,
    own: &[Ends; 2],
    other: &[Ends; 2],
) -> Option<ControlledChange> {
    if own.iter().chain(other).any(|ends| ends.count < LEAST_REPETITIONS) {
        return None;
    }
    let change = |[before, after]: &[Ends; 2]| Some(after.mean_deg? - before.mean_deg?);
    let error = |[before, after]: &[Ends; 2]| {
        let unseen = Unseen::of(conditions, before.strap_moved || after.strap_moved);
        ChangeError::of(before, after, &if before.is_sum { unseen.twice() } else { unseen })
    };
    let (treated_change_deg, untreated_change_deg) = (change(own)?, change(other)?);
    let difference_deg = treated_change_deg - untreated_change_deg;
    let error = error(own).zip(error(other)).map(|(own, other)| own.plus(&other));
    let half = error.and_then(|error| error.half_width(0.95));
    let interval = half.map(|half| [difference_deg - half, difference_deg + half]);
    let shown = interval.map_or_else(String::new, |[low, high]| {
        format!(" (95 % interval {low:+.1}° to {high:+.1}°)")
    });
    Some(ControlledChange {
        treated,
        direction,
        treated_change_deg,
        untreated_change_deg,
        difference_deg,
        ci95_deg: interval,
        statement: format!(
            "The treated leg changed by {difference_deg:+.1}° more than the other{shown}. A leg that \
             was chosen because it measured tighter comes back a little by itself."
        ),
    })
}
