//! A person's visits over time.

use endarc_protocol::words::{Direction, Phase, Side};
use serde::Serialize;
use utoipa::ToSchema;

use super::{Desk, DeskError};
use crate::report::gathered::{counting, means};
use crate::store::Reader;

/// One visit of a person, with what was measured in it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct HistoryVisit {
    /// Its id.
    pub id: String,
    /// When it began, local time with its offset (RFC 3339).
    pub started_at: String,
    /// The test. Positions are never compared with one another.
    pub test: String,
    /// How it stands.
    pub state: String,
    /// The mean of each leg, phase and direction, and of the totals.
    pub means: Vec<HistoryMean>,
}

/// The mean end range of a phase.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct HistoryMean {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which phase.
    #[schema(value_type = String)]
    pub phase: Phase,
    /// Which way; null for the total.
    #[schema(value_type = Option<String>)]
    pub direction: Option<Direction>,
    /// Repetitions it rests on.
    pub count: usize,
    /// The mean, degrees.
    pub mean_deg: f64,
    /// Half of its 95 % interval, degrees; null for a single repetition.
    pub half95_deg: Option<f64>,
}

impl Desk {
    /// The visits of a person, oldest first; none for one who is not known. Blocks.
    ///
    /// # Errors
    /// [`DeskError::Read`].
    pub fn history(&self, person: &str) -> Result<Vec<HistoryVisit>, DeskError> {
        let reader = Reader::open(&self.dir)?;
        let mut history = Vec::new();
        for summary in reader.visits()? {
            if !summary.person.as_str().eq_ignore_ascii_case(person) {
                continue;
            }
            let Some(visit) = reader.visit(summary.id)? else { continue };
            let means = means(summary.test, &counting(&visit.repetitions));
            history.push(HistoryVisit {
                id: summary.id.to_string(),
                started_at: summary.started.rfc3339(),
                test: summary.test.to_string(),
                state: summary.state.to_string(),
                means: means.iter().map(HistoryMean::from).collect(),
            });
        }
        Ok(history)
    }
}

impl From<&endarc_analysis::verdict::PhaseMean> for HistoryMean {
    fn from(mean: &endarc_analysis::verdict::PhaseMean) -> Self {
        Self {
            side: mean.side,
            phase: mean.phase,
            direction: mean.direction,
            count: mean.count,
            mean_deg: mean.mean_deg,
            half95_deg: mean.half95_deg,
        }
    }
}
