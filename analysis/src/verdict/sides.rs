//! Left against right in one phase: context, never a finding.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::ends::{Ends, knees_apart};
use super::error::ChangeError;
use super::looks::LEAST_REPETITIONS;
use super::study::ReliabilityStudy;
use super::unseen::Unseen;
use crate::result::Repetition;

/// Sides that differ by less are usually called equal (Ellison et al., Phys Ther 1990; 70:537–541).
pub const USUAL_TOLERANCE_DEG: f64 = 10.0;

/// Left minus right, one direction and phase.
#[derive(Debug, Clone, PartialEq)]
pub struct SideDifference {
    /// The phase.
    pub phase: Phase,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
    /// Mean end range of the left leg, degrees.
    pub left_mean_deg: f64,
    /// Mean end range of the right leg, degrees.
    pub right_mean_deg: f64,
    /// Left minus right, degrees.
    pub difference_deg: f64,
    /// Whether the legs were measured alike enough to say how they differ; the statement says why not.
    pub comparable: bool,
    /// 95 % interval from the repetitions and from what they cannot show: each leg has its own strap
    /// and its own end decisions; degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// The same in one plain sentence.
    pub statement: String,
}

/// Left minus right in a phase, for each direction and the total; those that were measured at least
/// three times on both sides. The study, if any, replaces the assumed 9° of a new strap.
#[must_use]
pub fn side_differences(
    test: TestKind,
    phase: Phase,
    repetitions: &[Repetition],
    study: Option<&ReliabilityStudy>,
) -> Vec<SideDifference> {
    let ends = |side, direction| Ends::of(side, direction, phase, repetitions);
    let mut pairs: Vec<_> = test
        .directions()
        .iter()
        .map(|&d| (Some(d), ends(Side::Left, d), ends(Side::Right, d)))
        .collect();
    if let [(_, in_left, in_right), (_, ex_left, ex_right)] = pairs.as_slice() {
        pairs.push((None, in_left.plus(ex_left), in_right.plus(ex_right)));
    }
    let difference = |(direction, left, right): &(Option<Direction>, Ends, Ends)| {
        compare(phase, *direction, left, right, study)
    };
    pairs.iter().filter_map(difference).collect()
}

fn compare(
    phase: Phase,
    direction: Option<Direction>,
    left: &Ends,
    right: &Ends,
    study: Option<&ReliabilityStudy>,
) -> Option<SideDifference> {
    if left.count < LEAST_REPETITIONS || right.count < LEAST_REPETITIONS {
        return None;
    }
    let (left_mean_deg, right_mean_deg) = (left.mean_deg?, right.mean_deg?);
    let difference_deg = left_mean_deg - right_mean_deg;
    let unseen = Unseen::between_straps(study);
    let unseen = if left.is_sum { unseen.twice() } else { unseen };
    let half = ChangeError::of(left, right, &unseen).and_then(|error| error.half_width(0.95));
    let knees_apart_deg = knees_apart(left, right);
    Some(SideDifference {
        phase,
        direction,
        left_mean_deg,
        right_mean_deg,
        difference_deg,
        ci95_deg: half.map(|half| [difference_deg - half, difference_deg + half]),
        comparable: knees_apart_deg.is_none(),
        statement: knees_apart_deg.map_or_else(|| statement(difference_deg), not_comparable),
    })
}

fn not_comparable(knees_apart_deg: f64) -> String {
    format!(
        "No claim about a difference of the sides: the knees were bent {knees_apart_deg:.0}° differently \
         on average, more than 10°."
    )
}

fn statement(difference_deg: f64) -> String {
    let (size, larger) =
        (difference_deg.abs(), if difference_deg > 0.0 { "left" } else { "right" });
    if size > USUAL_TOLERANCE_DEG {
        format!(
            "The sides differ by {size:.1}° ({larger} more): more than 10°, larger than the usual \
             tolerance for equal (Ellison et al. 1990). Many hips differ without any complaint."
        )
    } else {
        format!(
            "The sides differ by {size:.1}°, within the usual tolerance for equal of 10° (Ellison et al. 1990)."
        )
    }
}
