//! The JSON of comparisons between the legs.
//!
//! Outside programs rely on these names; they may be added to, never renamed.

use endarc_analysis::verdict::{ControlledChange, SideDifference};
use endarc_protocol::words::{Phase, Side};
use serde::Serialize;

use super::shapes::{direction_or_total, finite, interval};

/// Left minus right in one phase.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideDifferenceJson {
    /// The phase.
    pub phase: Phase,
    /// `internal`, `external`, or `total` for both together.
    pub direction: &'static str,
    /// Left minus right, degrees.
    pub difference_deg: Option<f64>,
    /// Its 95 % interval, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// Whether the legs were measured alike enough to say how they differ.
    pub comparable: bool,
    /// The same in plain words.
    pub statement: String,
}

/// Change of the treated leg minus that of the other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ControlledJson {
    /// The leg that was treated.
    pub treated: Side,
    /// `internal`, `external`, or `total` for both together.
    pub direction: &'static str,
    /// Treated minus untreated change, degrees.
    pub difference_deg: Option<f64>,
    /// Its 95 % interval, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// The same in plain words.
    pub statement: String,
}

impl From<&SideDifference> for SideDifferenceJson {
    fn from(from: &SideDifference) -> Self {
        Self {
            phase: from.phase,
            direction: direction_or_total(from.direction),
            difference_deg: finite(from.difference_deg),
            ci95_deg: interval(from.ci95_deg),
            comparable: from.comparable,
            statement: from.statement.clone(),
        }
    }
}

impl From<&ControlledChange> for ControlledJson {
    fn from(from: &ControlledChange) -> Self {
        Self {
            treated: from.treated,
            direction: direction_or_total(from.direction),
            difference_deg: finite(from.difference_deg),
            ci95_deg: interval(from.ci95_deg),
            statement: from.statement.clone(),
        }
    }
}
