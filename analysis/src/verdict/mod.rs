//! Did it change? One measurement against another, with its error.
//!
//! The rule: one rater, one position, one end criterion; at least three repetitions on either side. A
//! single person's change counts only beyond its limit, the larger of
//!
//! - half the 95 % interval of the change: the scatter of the person's own repetitions together with
//!   what repetitions cannot show (`unseen.rs`: the end is decided anew each time, the strap may move),
//!   and
//! - the floor for what repetitions cannot show, assumed or from a clinic's own [`study`].
//!
//! The total of internal and external rotation is compared beside them. One measure is named before
//! treatment ([`Primary`]); the 5 % hold for it, the rest is descriptive.
//!
//! The classification rules for arthritis of the hip (Altman et al., Arthritis Rheum 1991; 34:505–514) are
//! not applied: their limit of 15° internal rotation was set in another position, which the abstract does
//! not even name, it needs pain, stiffness, age and blood values besides, and this instrument does not
//! diagnose. Published ranges of a position are in [`crate::test_sheet`], as context.

mod compare;
pub mod conditions;
pub mod controlled;
mod ends;
mod error;
mod looks;
mod loosening;
mod means;
mod more;
mod sides;
mod statement;
pub mod study;
#[cfg(test)]
mod tests;
mod unseen;

use endarc_protocol::words::{Phase, Side, TestKind};

pub use conditions::{Changed, Conditions, Looks, Primary};
pub use controlled::{ControlledChange, controlled_changes};
pub use looks::{LEAST_REPETITIONS, MOST_REPETITIONS};
pub use means::{PhaseMean, phase_means};
pub use more::{More, REPETITION_S};
pub use sides::{SideDifference, USUAL_TOLERANCE_DEG, side_differences};
pub use statement::ALWAYS_SAID;
pub use study::{Covers, ReliabilityStudy, StudyError};

use crate::result::{Repetition, Verdict};
use ends::Ends;

/// Before against after of one leg, nothing else having changed: internal, external, total.
#[must_use]
pub fn verdicts(side: Side, test: TestKind, repetitions: &[Repetition]) -> Vec<Verdict> {
    verdicts_under(&Conditions::default(), side, test, repetitions)
}

/// Before against after of one leg under these conditions: internal, external, total.
#[must_use]
pub fn verdicts_under(
    conditions: &Conditions,
    side: Side,
    test: TestKind,
    repetitions: &[Repetition],
) -> Vec<Verdict> {
    between(conditions, (side, test), (repetitions, Phase::Baseline), (repetitions, Phase::Retest))
}

/// One measurement of a leg against another, e.g. the baselines of two visits: each is a set of
/// repetitions and the phase of which those count. Two visits differ by [`Changed::Day`], and by
/// [`Changed::Strap`].
#[must_use]
pub fn between(
    conditions: &Conditions,
    (side, test): (Side, TestKind),
    (earlier, before): (&[Repetition], Phase),
    (later, after): (&[Repetition], Phase),
) -> Vec<Verdict> {
    let pairs: Vec<_> = test
        .directions()
        .iter()
        .map(|&d| (d, Ends::of(side, d, before, earlier), Ends::of(side, d, after, later)))
        .collect();
    compare::all(conditions, side, &pairs)
}
