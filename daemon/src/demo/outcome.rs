//! What a visit came to, live or final, beside the truth.

use endarc_analysis::result::{Repetition, Verdict};
use endarc_analysis::verdict::{
    Conditions, ControlledChange, Primary, SideDifference, controlled_changes, side_differences,
    verdicts_under,
};
use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use endarc_simulator::Truth;

use super::matching::{Matches, matches};
use crate::finalise::{self, NOT_FOUND_AGAIN};
use crate::pipeline::Recorded;
use crate::store::records::VisitRecord;

/// Which values of a visit are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Values {
    /// As they were told while it happened.
    Live,
    /// With the whole visit known.
    Final,
}

/// What a visit came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outcome {
    /// The visit's id.
    pub visit: String,
    /// The person's code.
    pub person: String,
    /// Measured and true repetitions.
    pub repetitions: Matches,
    /// Before against after: per leg internal, external, total.
    pub verdicts: Vec<Verdict>,
    /// Left against right, before and after.
    pub sides: Vec<SideDifference>,
    /// What the treated leg changed by beyond what the other did.
    pub controlled: Vec<ControlledChange>,
}

/// What the demo's scenario treats, so that is what it names as its primary measure.
const PRIMARY: Primary = Primary { side: Side::Right, direction: Some(Direction::Internal) };

/// Holds a recorded visit against the truth. `record` is the visit as it stands in the store.
#[must_use]
pub fn outcome(
    recorded: &Recorded,
    record: &VisitRecord,
    truth: &Truth,
    values: Values,
) -> Outcome {
    let measured = match values {
        Values::Live => live(record),
        Values::Final => {
            recorded.finalised.counting().map(|kept| kept.repetition.clone()).collect()
        }
    };
    Outcome {
        visit: recorded.visit.to_string(),
        person: record.summary.person.to_string(),
        repetitions: matches(&measured, &truth.repetitions),
        ..compared(record.summary.test, &measured)
    }
}

/// Everything that is compared.
pub(super) fn compared(test: TestKind, measured: &[Repetition]) -> Outcome {
    let conditions = Conditions { primary: Some(PRIMARY), ..Conditions::default() };
    let seen = |side: &&Side| measured.iter().any(|one| one.side == **side);
    let verdicts = Side::ALL
        .iter()
        .filter(seen)
        .flat_map(|side| verdicts_under(&conditions, *side, test, measured))
        .collect();
    let phases = [Phase::Baseline, Phase::Retest];
    Outcome {
        verdicts,
        sides: phases
            .into_iter()
            .flat_map(|phase| side_differences(test, phase, measured, None))
            .collect(),
        controlled: controlled_changes(&conditions, PRIMARY.side, test, measured),
        ..Outcome::default()
    }
}

/// The live values, those among them that the analysis of the whole visit does not find.
fn live(record: &VisitRecord) -> Vec<Repetition> {
    record
        .repetitions
        .iter()
        .filter(|one| one.struck_out.as_deref().is_none_or(|reason| reason == NOT_FOUND_AGAIN))
        .filter_map(|one| Some(finalise::repetition(one, one.live.as_ref()?)))
        .collect()
}
