//! Whether more repetitions would settle a comparison, told while a retest runs.
//!
//! What is told can decide whether to go on, so each telling is a look that costs part of the 5 %. It
//! is words and counts, never an angle: a seen target pulls the hand.

use endarc_analysis::result::{More, Repetition};
use endarc_analysis::verdict::{LEAST_REPETITIONS, Looks, MOST_REPETITIONS};
use endarc_protocol::words::{Direction, Phase, Side, TrialType};

use super::effect::{Effect, Look, Record};
use super::event::Marks;
use super::machine::Visit;
use super::strings;
use crate::live::{Advice, LiveMore};

/// How a comparison of one leg and direction stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Standing {
    pub(super) side: Side,
    pub(super) direction: Direction,
    pub(super) baseline_count: usize,
    pub(super) retest_count: usize,
    /// `None` where no claim may be made at all.
    pub(super) more: Option<More>,
}

/// How a visit's comparisons are looked at: where the source brings its own marks, it has settled how
/// many repetitions there are, whatever is told meanwhile.
pub(super) const fn looks(marks: Marks) -> Looks {
    match marks {
        Marks::Source => Looks::Once,
        Marks::Therapist | Marks::Guide => Looks::AfterEach,
    }
}

/// Whether end ranges count in it.
pub(super) const fn measures(trial_type: TrialType) -> bool {
    matches!(trial_type, TrialType::Baseline | TrialType::Retest)
}

impl Visit {
    /// What a viewer is told while a retest runs.
    pub(super) fn counsel(&self) -> Vec<LiveMore> {
        let Some(span) = self.spans.newest().filter(|span| span.trial_type == TrialType::Retest)
        else {
            return Vec::new();
        };
        let concerned = |standing: &&Standing| span.concerns(standing.side);
        self.notebook.standings().iter().filter(concerned).map(told).collect()
    }

    /// The look that a repetition of the retest brings as soon as it is on disk, where what is told can
    /// decide whether to go on.
    pub(super) fn look(&self, repetition: &Repetition, time_s: f64) -> Option<Effect> {
        let Repetition { side, direction, phase, .. } = *repetition;
        let counts = self.spans.phase() == Some(Phase::Retest)
            && phase == Phase::Retest
            && self.notebook.looks() == Looks::AfterEach
            && !self.notebook.stopped_for_pain();
        let standing = self
            .notebook
            .standings()
            .iter()
            .find(|one| (one.side, one.direction) == (side, direction))
            .filter(|_| counts)?;
        let retest_count = standing.retest_count;
        let planned = (LEAST_REPETITIONS..=MOST_REPETITIONS).contains(&retest_count);
        let told = standing.more.filter(|_| planned)?;
        let look = Look { side, direction, retest_count, told, time_s };
        Some(Effect::Store(Record::Look(look)))
    }
}

fn told(standing: &Standing) -> LiveMore {
    let advice = match standing.more {
        Some(More::Settled) => Advice::Settled,
        Some(More::Repetitions(_)) if standing.retest_count < LEAST_REPETITIONS => {
            Advice::NotEnoughYet
        }
        Some(More::Repetitions(_)) => Advice::MoreWouldSettle,
        Some(More::FloorDecides) => Advice::LimitDecides,
        Some(More::OutOfReach) if standing.baseline_count < LEAST_REPETITIONS => {
            Advice::BaselineTooShort
        }
        Some(More::OutOfReach) => Advice::MoreCannotSettle,
        Some(More::StoppedByPain) => Advice::StoppedForPain,
        None => Advice::NoClaim,
    };
    let repetitions = standing.more.map_or(0, More::count);
    LiveMore {
        side: standing.side,
        direction: standing.direction,
        made: standing.retest_count,
        most: MOST_REPETITIONS,
        advice,
        repetitions,
        line: strings::more(advice, repetitions),
    }
}
