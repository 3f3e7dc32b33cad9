//! One visit as the desk shows it.

use endarc_protocol::words::{Direction, Phase, Side};
use serde::Serialize;
use utoipa::ToSchema;

use super::history::HistoryMean;
use super::{Desk, DeskError, no_visit};
use crate::report::Gathered;
use crate::store::records::RepetitionRecord;
use crate::store::rows::{AuditEntry, Verdict};
use crate::store::{Reader, VisitId};

/// The mean of a phase, as the history has it.
pub type SheetMean = HistoryMean;

/// One visit.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Sheet {
    /// Its id.
    pub id: String,
    /// The person's code.
    pub person: String,
    /// When it began, local time with its offset (RFC 3339).
    pub started_at: String,
    /// How it stands.
    pub state: String,
    /// The test.
    pub test: String,
    /// Free text.
    pub notes: Option<String>,
    /// The repetitions, by time, those struck out among them.
    pub repetitions: Vec<SheetRepetition>,
    /// The mean of each leg, phase and direction, and of the totals.
    pub means: Vec<SheetMean>,
    /// Before against after.
    pub verdicts: Vec<SheetVerdict>,
    /// What was put right, oldest first.
    pub audit: Vec<Entry>,
}

/// One repetition.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SheetRepetition {
    /// Its id.
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
    /// Its number within side, phase and direction.
    pub number: u32,
    /// End range along its direction, degrees.
    pub end_range_deg: f64,
    /// One standard uncertainty, degrees.
    pub uncertainty_deg: f64,
    /// When the movement began, s of visit time.
    pub start_s: f64,
    /// When the end range was reached, s.
    pub end_range_at_s: f64,
    /// Time spent there, s.
    pub hold_s: f64,
    /// Knee flexion there, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Whether the value is `live` or `final`.
    pub value_kind: String,
    /// What to know of it.
    pub flags: Vec<String>,
    /// Why it does not count; null where it counts.
    pub struck_out: Option<String>,
}

/// Before against after.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SheetVerdict {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which way; null for the total.
    #[schema(value_type = Option<String>)]
    pub direction: Option<Direction>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// Its 95 % interval, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// A change up to this cannot be told from error, degrees.
    pub mdc95_deg: Option<f64>,
    /// What can be said: a word of the list in the documentation of `analyse`.
    pub finding: String,
    /// The same in a sentence.
    pub statement: String,
}

/// Something that was put right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Entry {
    /// When (UTC, RFC 3339).
    pub at: String,
    /// Who, if told.
    pub actor: Option<String>,
    /// What was done.
    pub action: String,
    /// To what.
    pub subject: String,
    /// Why, and what was before.
    pub detail: Option<String>,
}

impl Desk {
    /// One visit. Blocks.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn sheet(&self, id: VisitId) -> Result<Sheet, DeskError> {
        let reader = Reader::open(&self.dir)?;
        let visit = reader.visit(id)?.ok_or_else(|| no_visit(id))?;
        let all = Gathered::kept(visit, reader.told(id)?);
        let mut verdicts = Vec::new();
        for side in all.sides() {
            for direction in all.directions() {
                verdicts.extend(all.verdict(side, direction).map(SheetVerdict::from));
            }
        }
        let visit = &all.visit;
        Ok(Sheet {
            id: visit.summary.id.to_string(),
            person: visit.summary.person.to_string(),
            started_at: visit.summary.started.rfc3339(),
            state: visit.summary.state.to_string(),
            test: visit.summary.test.to_string(),
            notes: visit.notes.clone(),
            repetitions: visit.repetitions.iter().filter_map(repetition).collect(),
            means: all.means.iter().map(SheetMean::from).collect(),
            verdicts,
            audit: reader.audit(id)?.into_iter().map(Entry::from).collect(),
        })
    }
}

fn repetition(record: &RepetitionRecord) -> Option<SheetRepetition> {
    let value = record.value()?;
    Some(SheetRepetition {
        id: record.id.to_string(),
        side: record.side,
        phase: record.phase,
        direction: record.direction,
        number: record.number,
        end_range_deg: value.end_range_deg,
        uncertainty_deg: value.uncertainty_deg,
        start_s: value.start_s,
        end_range_at_s: value.end_range_at_s,
        hold_s: value.hold_s,
        knee_flexion_deg: value.knee_flexion_deg,
        value_kind: value.kind.to_string(),
        flags: value.flags.clone(),
        struck_out: record.struck_out.clone(),
    })
}

impl From<&Verdict> for SheetVerdict {
    fn from(verdict: &Verdict) -> Self {
        Self {
            side: verdict.side,
            direction: verdict.direction,
            change_deg: verdict.change_deg,
            ci95_deg: verdict.ci95_deg,
            mdc95_deg: verdict.mdc95_deg,
            finding: verdict.finding.to_string(),
            statement: verdict.statement.clone(),
        }
    }
}

impl From<AuditEntry> for Entry {
    fn from(entry: AuditEntry) -> Self {
        Self {
            at: entry.at.to_string(),
            actor: entry.actor,
            action: entry.action,
            subject: entry.subject,
            detail: entry.detail,
        }
    }
}
