//! What a visit came to, live or final, beside the truth.

use endarc_analysis::result::{Repetition, Verdict};
use endarc_analysis::verdict::verdicts;
use endarc_protocol::words::Side;
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
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The visit's id.
    pub visit: String,
    /// The person's code.
    pub person: String,
    /// Measured and true repetitions.
    pub repetitions: Matches,
    /// Before against after: per leg internal, external, total.
    pub verdicts: Vec<Verdict>,
}

/// Holds a recorded visit against the truth. `record` is the visit as it stands in the store.
#[must_use]
pub fn outcome(
    recorded: &Recorded,
    record: &VisitRecord,
    truth: &Truth,
    values: Values,
) -> Outcome {
    let (measured, compared) = match values {
        Values::Live => live(record),
        Values::Final => {
            let counting = recorded.finalised.counting().map(|kept| kept.repetition.clone());
            (counting.collect(), recorded.finalised.verdicts.clone())
        }
    };
    Outcome {
        visit: recorded.visit.to_string(),
        person: record.summary.person.to_string(),
        repetitions: matches(&measured, &truth.repetitions),
        verdicts: compared,
    }
}

/// The live values, those among them that the analysis of the whole visit does not find.
fn live(record: &VisitRecord) -> (Vec<Repetition>, Vec<Verdict>) {
    let measured: Vec<Repetition> = record
        .repetitions
        .iter()
        .filter(|one| one.struck_out.as_deref().is_none_or(|reason| reason == NOT_FOUND_AGAIN))
        .filter_map(|one| Some(finalise::repetition(one, one.live.as_ref()?)))
        .collect();
    let of_leg = |side: &Side| {
        let own: Vec<Repetition> =
            measured.iter().filter(|one| one.side == *side).cloned().collect();
        if own.is_empty() { Vec::new() } else { verdicts(*side, record.summary.test, &own) }
    };
    let compared = Side::ALL.iter().flat_map(of_leg).collect();
    (measured, compared)
}
