//! How many repetitions more would settle it.

use super::error::ChangeError;
use super::looks::{LEAST_REPETITIONS, MOST_REPETITIONS};

/// Whether further repetitions of the retest can settle a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum More {
    /// Nothing is open: more would not change what is said.
    Settled,
    /// So many more in this direction would, if they go on as they are.
    Repetitions(usize),
    /// The floor decides, and no repetition lowers it.
    FloorDecides,
    /// Not even all that may be made would.
    OutOfReach,
    /// The person stopped for pain: no more are made.
    StoppedByPain,
}

/// What one repetition costs, s (common practice).
pub const REPETITION_S: f64 = 5.0;

impl More {
    /// How many, 0 for none.
    #[must_use]
    pub const fn count(self) -> usize {
        match self {
            Self::Repetitions(count) => count,
            _ => 0,
        }
    }

    /// What they cost, s.
    #[must_use]
    pub fn duration_s(self) -> f64 {
        self.count() as f64 * REPETITION_S
    }
}

/// A comparison as it stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Standing {
    /// Repetitions before; they can no longer become more.
    pub(super) before: usize,
    /// Repetitions after.
    pub(super) after: usize,
    /// The change, degrees.
    pub(super) change_deg: Option<f64>,
    /// Its error, where it is known.
    pub(super) error: Option<ChangeError>,
    /// The floor, degrees.
    pub(super) floor_deg: f64,
    /// Whether the person stopped for pain.
    pub(super) stopped_by_pain: bool,
}

/// Repetitions of the retest that would settle a comparison. `limit` gives the limit of a change from its
/// error and the number of retest repetitions.
pub(super) fn more(
    now: &Standing,
    limit: impl Fn(Option<&ChangeError>, usize) -> Option<f64>,
) -> More {
    if now.stopped_by_pain {
        return More::StoppedByPain;
    }
    if now.before < LEAST_REPETITIONS {
        return More::OutOfReach;
    }
    if now.after < LEAST_REPETITIONS {
        return More::Repetitions(LEAST_REPETITIONS - now.after);
    }
    let (Some(change), Some(error)) = (now.change_deg.map(f64::abs), now.error) else {
        return More::OutOfReach;
    };
    if limit(Some(&error), now.after).is_some_and(|limit| change > limit) {
        return More::Settled;
    }
    if change <= now.floor_deg {
        return More::FloorDecides;
    }
    let inverse = |after: usize| 1.0 / now.before as f64 + 1.0 / after as f64;
    let settles = |after: &usize| {
        let added = (after - now.after) as f64;
        let error = error.with_more(inverse(*after) / inverse(now.after), added);
        limit(Some(&error), *after).is_some_and(|limit| change > limit)
    };
    (now.after + 1..=MOST_REPETITIONS)
        .find(settles)
        .map_or(More::OutOfReach, |after| More::Repetitions(after - now.after))
}
