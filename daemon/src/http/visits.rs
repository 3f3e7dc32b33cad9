//! Kept visits as the HTTP interface shows them, and where they come from.

use endarc_analysis::result::Barriers;
use endarc_protocol::words::{Direction, Phase, SensorRole, Side};
use serde::Serialize;
use utoipa::ToSchema;

use crate::levelled::LevelledTable;
use crate::store::TableRecord;
use crate::visit::Known;

/// Where kept visits are looked up.
///
/// The functions may block (they read a database): the handlers call them away from the async
/// runtime, a few at a time.
pub trait VisitSource: Send + Sync + 'static {
    /// All visits, newest first.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn visits(&self) -> Result<Vec<VisitSummary>, VisitSourceError>;

    /// One visit with its repetitions and changes; `None` when there is no such visit.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn visit(&self, id: &str) -> Result<Option<VisitDetail>, VisitSourceError>;

    /// All tables that were levelled, by name.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn tables(&self) -> Result<Vec<TableRecord>, VisitSourceError>;

    /// What is known of a person from visits that are over; `None` for one who was not here before.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn known(&self, person: &str) -> Result<Option<Known>, VisitSourceError>;
}

/// The store could not be read; the text says why and what to do.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct VisitSourceError(pub String);

/// One visit in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct VisitSummary {
    /// The visit's id; a string, because a script cannot carry every 64-bit number.
    pub id: String,
    /// The person's code.
    pub person: String,
    /// When it began, local time with its offset (RFC 3339).
    pub started_at: String,
    /// How it stands: `open`, `closed`, `interrupted` or `truncated`.
    pub state: String,
}

/// One visit with what was measured.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct VisitDetail {
    /// What the list shows of it.
    #[serde(flatten)]
    pub summary: VisitSummary,
    /// The test, e.g. `prone-hip-rotation`.
    pub test: String,
    /// The table it was measured on, with the levelling that counted; null where that is not known.
    pub table: Option<LevelledTable>,
    /// Its repetitions, oldest first, those struck out among them.
    pub repetitions: Vec<VisitRepetition>,
    /// What was known of the gyroscopes' biases, by time.
    pub biases: Vec<VisitBias>,
    /// Before against after, per side and direction.
    pub changes: Vec<VisitChange>,
}

/// One kept repetition.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct VisitRepetition {
    /// The repetition's id.
    pub id: String,
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which phase.
    #[schema(value_type = String)]
    pub phase: Phase,
    /// Which way.
    #[schema(value_type = String)]
    pub direction: Direction,
    /// Whether the values below are `live` or `final`; the final ones once they exist.
    pub value_kind: String,
    /// The algorithm that made them.
    pub algorithm_version: String,
    /// End range along its direction, degrees.
    pub end_range_deg: f64,
    /// One standard uncertainty, degrees.
    pub uncertainty_deg: f64,
    /// When the end range was reached, s of visit time.
    pub end_range_at_s: f64,
    /// Time spent at the end range, s.
    pub hold_s: f64,
    /// Knee flexion at the end range, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll at the end range, degrees; null without a pelvis sensor.
    pub pelvis_roll_deg: Option<f64>,
    /// Where a contraction on the way there began and ended; null where none was seen.
    pub barriers: Option<VisitBarriers>,
    /// What to know about this value, from the list in the documentation of `analyse`.
    pub flags: Vec<String>,
    /// Why it does not count; null where it counts.
    pub struck_out: Option<String>,
}

/// A contraction on the way to an end range: the limb stood, gave while the person pushed, and went
/// further.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct VisitBarriers {
    /// Where it stood before it gave, along the direction, degrees.
    pub start_deg: f64,
    /// Where it stood in the end, along the direction, degrees.
    pub end_deg: f64,
    /// When it began to give, s of visit time.
    pub start_s: f64,
    /// When it arrived at its end, s of visit time.
    pub end_s: f64,
}

impl From<Barriers> for VisitBarriers {
    fn from(Barriers { start_deg, end_deg, start_s, end_s }: Barriers) -> Self {
        Self { start_deg, end_deg, start_s, end_s }
    }
}

/// What was known of a gyroscope's bias at the end of a span.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct VisitBias {
    /// Where the sensor was worn.
    #[schema(value_type = String)]
    pub role: SensorRole,
    /// When that was, s of visit time.
    pub at_s: f64,
    /// The bias beside what a calibration takes out, in the sensor's frame, °/s.
    pub bias_deg_s: [f64; 3],
    /// One standard uncertainty of each component, °/s.
    pub sd_deg_s: [f64; 3],
    /// How long ago rest had shown it then, s; null before any rest.
    pub age_s: Option<f64>,
}

/// Before against after for one side and direction, by the newest algorithm.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct VisitChange {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which way; null for both together (total rotation).
    #[schema(value_type = Option<String>)]
    pub direction: Option<Direction>,
    /// Mean of the baseline end ranges, degrees.
    pub baseline_mean_deg: Option<f64>,
    /// Mean of the retest end ranges, degrees.
    pub retest_mean_deg: Option<f64>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// A change smaller than this cannot be told from error, degrees.
    pub limit_deg: Option<f64>,
    /// What can be said: `exceeds-error`, `within-error`, `no-claim` or `not-enough`.
    pub finding: String,
    /// Where that limit comes from.
    pub limit_source: String,
    /// The algorithm that made this.
    pub algorithm_version: String,
    /// One plain sentence.
    pub statement: String,
}
