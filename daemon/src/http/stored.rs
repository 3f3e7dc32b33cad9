//! Visits of the store, in the shapes of the HTTP interface.

use std::path::PathBuf;

use super::visits::{
    VisitBarriers, VisitBias, VisitChange, VisitDetail, VisitRepetition, VisitSource,
    VisitSourceError, VisitSummary,
};
use crate::levelled::LevelledTable;
use crate::store::records::{self, RepetitionRecord, VisitRecord};
use crate::store::rows::{GyroBias, Verdict};
use crate::store::{ReadError, Reader, TableRecord};
use crate::visit::Known;

/// The visits in a data folder. Each look-up opens the database anew and only reads, so nothing
/// here holds the writer back.
#[derive(Debug, Clone)]
pub struct StoredVisits {
    dir: PathBuf,
}

impl StoredVisits {
    /// The visits in the data folder `dir`.
    #[must_use]
    pub const fn new(dir: PathBuf) -> Self {
        Self { dir }
    }
}

impl VisitSource for StoredVisits {
    fn visits(&self) -> Result<Vec<VisitSummary>, VisitSourceError> {
        let visits = Reader::open(&self.dir)?.visits()?;
        Ok(visits.iter().rev().map(summary).collect())
    }

    fn visit(&self, id: &str) -> Result<Option<VisitDetail>, VisitSourceError> {
        // What is no number is no visit's id.
        let Ok(id) = id.parse() else { return Ok(None) };
        let record = Reader::open(&self.dir)?.visit(id)?;
        Ok(record.as_ref().map(detail))
    }

    fn tables(&self) -> Result<Vec<TableRecord>, VisitSourceError> {
        match Reader::open(&self.dir) {
            Ok(reader) => Ok(reader.tables()?),
            Err(ReadError::NoDatabase { .. }) => Ok(Vec::new()),
            Err(error) => Err(error.into()),
        }
    }

    fn known(&self, person: &str) -> Result<Option<Known>, VisitSourceError> {
        Ok(Reader::open(&self.dir)?.known(person)?)
    }
}

impl From<ReadError> for VisitSourceError {
    fn from(error: ReadError) -> Self {
        Self(error.to_string())
    }
}

fn summary(visit: &records::VisitSummary) -> VisitSummary {
    VisitSummary {
        id: visit.id.to_string(),
        person: visit.person.to_string(),
        started_at: visit.started.rfc3339(),
        state: visit.state.to_string(),
    }
}

fn detail(visit: &VisitRecord) -> VisitDetail {
    VisitDetail {
        summary: summary(&visit.summary),
        test: visit.summary.test.to_string(),
        table: visit.table.as_ref().map(LevelledTable::from),
        repetitions: visit.repetitions.iter().filter_map(repetition).collect(),
        biases: visit.gyro_biases.iter().map(bias).collect(),
        changes: newest(&visit.verdicts).map(change).collect(),
    }
}

/// A repetition with the value to report; one without any value has nothing to show.
fn repetition(repetition: &RepetitionRecord) -> Option<VisitRepetition> {
    let value = repetition.value()?;
    Some(VisitRepetition {
        id: repetition.id.to_string(),
        side: repetition.side,
        phase: repetition.phase,
        direction: repetition.direction,
        value_kind: value.kind.to_string(),
        algorithm_version: value.algorithm_version.clone(),
        end_range_deg: value.end_range_deg,
        uncertainty_deg: value.uncertainty_deg,
        end_range_at_s: value.end_range_at_s,
        hold_s: value.hold_s,
        knee_flexion_deg: value.knee_flexion_deg,
        pelvis_roll_deg: value.pelvis_roll_deg,
        barriers: value.barriers.map(VisitBarriers::from),
        flags: value.flags.clone(),
        struck_out: repetition.struck_out.clone(),
    })
}

fn bias(row: &GyroBias) -> VisitBias {
    let degrees = |rad_s: [f64; 3]| rad_s.map(f64::to_degrees);
    VisitBias {
        role: row.role,
        at_s: row.at_s,
        bias_deg_s: degrees(row.state.bias_rad_s),
        sd_deg_s: degrees(row.state.sd_rad_s),
        age_s: row.state.learnt_at_s.map(|learnt_s| row.at_s - learnt_s),
    }
}

/// Of several verdicts on the same side and direction the last: the newest algorithm's.
fn newest(verdicts: &[Verdict]) -> impl Iterator<Item = &Verdict> {
    verdicts.iter().enumerate().filter_map(|(index, verdict)| {
        let same =
            |later: &Verdict| (later.side, later.direction) == (verdict.side, verdict.direction);
        let replaced = verdicts.iter().skip(index + 1).any(same);
        (!replaced).then_some(verdict)
    })
}

fn change(verdict: &Verdict) -> VisitChange {
    VisitChange {
        side: verdict.side,
        direction: verdict.direction,
        baseline_mean_deg: verdict.baseline_mean_deg,
        retest_mean_deg: verdict.retest_mean_deg,
        change_deg: verdict.change_deg,
        limit_deg: verdict.mdc95_deg,
        finding: verdict.finding.to_string(),
        limit_source: verdict.mdc95_source.clone(),
        algorithm_version: verdict.algorithm_version.clone(),
        statement: verdict.statement.clone(),
    }
}
