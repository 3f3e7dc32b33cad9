//! What a visit came to before and after its raw samples were analysed again.

use endarc_protocol::words::{Direction, Phase, Side};

use crate::finalise::NOT_FOUND_AGAIN;
use crate::store::records::{RepetitionRecord, VisitRecord};
use crate::store::rows::{RepetitionValue, Verdict};

/// One repetition before and after; at least one of the two is there.
#[derive(Debug, Clone, PartialEq)]
pub struct RepetitionChange {
    /// The repetition, as it is kept now.
    pub repetition: RepetitionRecord,
    /// Its value before; `None` where it had not been found.
    pub before: Option<RepetitionValue>,
    /// Its value now; `None` where it is not found any more.
    pub after: Option<RepetitionValue>,
}

impl RepetitionChange {
    /// By how much the end range changed, degrees; `None` where it was or is not found.
    #[must_use]
    pub fn change_deg(&self) -> Option<f64> {
        Some(self.after.as_ref()?.end_range_deg - self.before.as_ref()?.end_range_deg)
    }

    /// By which it is told: leg, phase, direction, number.
    #[must_use]
    pub const fn key(&self) -> (Side, Phase, Direction, u32) {
        let one = &self.repetition;
        (one.side, one.phase, one.direction, one.number)
    }
}

/// One comparison of baseline and retest, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct ComparisonChange {
    /// The leg.
    pub side: Side,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
    /// The newest one before.
    pub before: Option<Verdict>,
    /// The newest one now.
    pub after: Verdict,
}

/// How far the repetitions of a visit changed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Extent {
    /// Found before and now.
    pub both: usize,
    /// Found now, and not before.
    pub found_anew: usize,
    /// Found before, and not now.
    pub not_found: usize,
    /// Mean size of the change of those found both times, degrees.
    pub mean_deg: f64,
    /// The greatest, degrees.
    pub greatest_deg: f64,
}

/// Holds what is kept of the repetitions now against what was kept before, by time.
#[must_use]
pub fn repetitions(before: &VisitRecord, after: &VisitRecord) -> Vec<RepetitionChange> {
    let change = |now: &RepetitionRecord| {
        let then = before.repetitions.iter().find(|then| then.id == now.id);
        let before = then.and_then(found);
        let after = found(now);
        let known = before.is_some() || after.is_some();
        known.then(|| RepetitionChange { repetition: now.clone(), before, after })
    };
    after.repetitions.iter().filter_map(change).collect()
}

/// The value to report of a repetition, unless the analysis of the whole visit does not find it.
fn found(repetition: &RepetitionRecord) -> Option<RepetitionValue> {
    let lost = repetition.struck_out.as_deref() == Some(NOT_FOUND_AGAIN);
    repetition.value().filter(|_| !lost).cloned()
}

/// Holds the newest comparison of each leg and direction against the newest before.
#[must_use]
pub fn comparisons(before: &VisitRecord, after: &VisitRecord) -> Vec<ComparisonChange> {
    let mut changes: Vec<ComparisonChange> = Vec::new();
    // The newest stands last.
    for now in after.verdicts.iter().rev() {
        let same = |other: &Verdict| (other.side, other.direction) == (now.side, now.direction);
        if changes.iter().any(|known| same(&known.after)) {
            continue;
        }
        let then = before.verdicts.iter().rev().find(|then| same(then));
        changes.push(ComparisonChange {
            side: now.side,
            direction: now.direction,
            before: then.cloned(),
            after: now.clone(),
        });
    }
    changes.reverse();
    changes
}

/// How far they changed together.
#[must_use]
pub fn extent(changes: &[RepetitionChange]) -> Extent {
    let sizes: Vec<f64> =
        changes.iter().filter_map(RepetitionChange::change_deg).map(f64::abs).collect();
    let count =
        |lost: fn(&RepetitionChange) -> bool| changes.iter().filter(|one| lost(one)).count();
    Extent {
        both: sizes.len(),
        found_anew: count(|one| one.before.is_none()),
        not_found: count(|one| one.after.is_none()),
        mean_deg: sizes.iter().sum::<f64>() / sizes.len().max(1) as f64,
        greatest_deg: sizes.iter().copied().fold(0.0, f64::max),
    }
}
