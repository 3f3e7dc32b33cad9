//! Everything a report is made of, gathered once.

use std::path::Path;

use endarc_analysis::result::{Dose, Repetition};
use endarc_analysis::verdict::{PhaseMean, phase_means};
use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use crate::finalise::{self, FinaliseError};
use crate::store::records::{RepetitionRecord, VisitRecord};
use crate::store::rows::Verdict;
use crate::store::told::Told;
use crate::store::{Reader, VisitId};

/// One visit, with what follows from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Gathered {
    /// The visit as it is kept.
    pub visit: VisitRecord,
    /// What was asked and told.
    pub told: Told,
    /// The repetitions that count, with the values to report.
    pub counting: Vec<Repetition>,
    /// The mean of each leg, phase and direction, and of the totals.
    pub means: Vec<PhaseMean>,
    /// What was done in treatment, per leg; or why that cannot be told.
    pub doses: Vec<(Side, Result<Vec<Dose>, String>)>,
}

impl Gathered {
    /// Reads a visit and analyses its raw samples for what was done in treatment. Blocks.
    ///
    /// # Errors
    /// When there is no such visit, or it cannot be read.
    pub fn of(data_dir: &Path, visit: VisitId) -> Result<Self, FinaliseError> {
        let (record, legs) = finalise::compute(data_dir, visit)?;
        let told = Reader::open(data_dir)?.told(visit)?;
        let doses = legs
            .into_iter()
            .map(|(side, leg)| (side, leg.map(|leg| leg.doses).map_err(|error| error.to_string())));
        Ok(Self { doses: doses.collect(), ..Self::kept(record, told) })
    }

    /// From what is kept alone.
    #[must_use]
    pub fn kept(visit: VisitRecord, told: Told) -> Self {
        let counting = counting(&visit.repetitions);
        let means = means(visit.summary.test, &counting);
        Self { visit, told, counting, means, doses: Vec::new() }
    }

    /// The test.
    #[must_use]
    pub const fn test(&self) -> TestKind {
        self.visit.summary.test
    }

    /// The legs that were measured, left first.
    #[must_use]
    pub fn sides(&self) -> Vec<Side> {
        let measured = |side: &Side| self.visit.repetitions.iter().any(|one| one.side == *side);
        [Side::Left, Side::Right].into_iter().filter(measured).collect()
    }

    /// The directions of the test, and the total where there are two.
    #[must_use]
    pub fn directions(&self) -> Vec<Option<Direction>> {
        let one: Vec<_> = self.test().directions().iter().copied().map(Some).collect();
        if one.len() > 1 { [one, vec![None]].concat() } else { one }
    }

    /// A mean.
    #[must_use]
    pub fn mean(
        &self,
        side: Side,
        phase: Phase,
        direction: Option<Direction>,
    ) -> Option<&PhaseMean> {
        let is =
            |one: &&PhaseMean| (one.side, one.phase, one.direction) == (side, phase, direction);
        self.means.iter().find(is)
    }

    /// The newest algorithm's verdict on a side and direction.
    #[must_use]
    pub fn verdict(&self, side: Side, direction: Option<Direction>) -> Option<&Verdict> {
        let is = |one: &&Verdict| (one.side, one.direction) == (side, direction);
        self.visit.verdicts.iter().rev().find(is)
    }
}

/// The repetitions that count, with the values to report.
#[must_use]
pub fn counting(all: &[RepetitionRecord]) -> Vec<Repetition> {
    let counts = all.iter().filter(|one| one.struck_out.is_none());
    counts.filter_map(|one| Some(finalise::repetition(one, one.value()?))).collect()
}

/// The mean of each leg, phase and direction, and of the totals.
#[must_use]
pub fn means(test: TestKind, counting: &[Repetition]) -> Vec<PhaseMean> {
    let mut means = Vec::new();
    for side in [Side::Left, Side::Right] {
        for phase in [Phase::Baseline, Phase::Retest] {
            means.extend(phase_means(side, test, phase, counting));
        }
    }
    means
}
