//! The demo's answer as JSON. Outside programs rely on these names.

use endarc_analysis::result::Repetition;
use endarc_analysis::verdict::ALWAYS_SAID;
use endarc_protocol::words::{Direction, Phase, Side};
use endarc_simulator::TruthRepetition;
use serde::Serialize;

use super::outcome::Outcome;
use crate::commands::leg_shapes::{ControlledJson, SideDifferenceJson};
use crate::commands::shapes::{RepetitionJson, VerdictJson};

/// What `endarc demo --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutcomeJson {
    /// Which visit.
    pub visit: VisitJson,
    /// Measured repetitions that really happened, by time, with the truth.
    pub repetitions: Vec<MatchedJson>,
    /// What happened and was not measured.
    pub missed: Vec<TrueJson>,
    /// What was measured and did not happen.
    pub invented: Vec<RepetitionJson>,
    /// Before against after, per leg.
    pub verdicts: Vec<VerdictJson>,
    /// Left minus right, before and after.
    pub side_differences: Vec<SideDifferenceJson>,
    /// What the treated leg changed by beyond what the other did.
    pub treated_minus_untreated: Vec<ControlledJson>,
    /// What every report says.
    pub caution: &'static str,
}

/// Which visit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VisitJson {
    /// Its id.
    pub id: String,
    /// The person's code.
    pub person: String,
}

/// A measured repetition with the truth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatchedJson {
    /// As `endarc analyse` prints it, with its leg.
    #[serde(flatten)]
    pub repetition: RepetitionJson,
    /// What really happened.
    pub truth: TrueJson,
}

/// A repetition as the simulated body did it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrueJson {
    /// Which leg.
    pub side: Side,
    /// Which phase.
    pub phase: Phase,
    /// Which way.
    pub direction: Direction,
    /// End range along its direction, degrees.
    pub end_range_deg: f64,
}

impl From<&Outcome> for OutcomeJson {
    fn from(outcome: &Outcome) -> Self {
        let matches = &outcome.repetitions;
        let matched = |(repetition, truth): &(Repetition, TruthRepetition)| MatchedJson {
            repetition: RepetitionJson::with_side(repetition),
            truth: TrueJson::from(truth),
        };
        Self {
            visit: VisitJson { id: outcome.visit.clone(), person: outcome.person.clone() },
            repetitions: matches.matched.iter().map(matched).collect(),
            missed: matches.missed.iter().map(TrueJson::from).collect(),
            invented: matches.invented.iter().map(RepetitionJson::with_side).collect(),
            verdicts: outcome.verdicts.iter().map(VerdictJson::with_side).collect(),
            side_differences: outcome.sides.iter().map(SideDifferenceJson::from).collect(),
            treated_minus_untreated: outcome.controlled.iter().map(ControlledJson::from).collect(),
            caution: ALWAYS_SAID,
        }
    }
}

impl From<&TruthRepetition> for TrueJson {
    fn from(truth: &TruthRepetition) -> Self {
        Self {
            side: truth.side,
            phase: truth.phase,
            direction: truth.direction,
            end_range_deg: truth.end_range_deg,
        }
    }
}
