//! Putting something right: with a reason, kept in the audit trail, and what follows computed anew.

use endarc_analysis::result::Repetition;
use endarc_analysis::verdict::verdicts_under;
use endarc_protocol::words::Phase;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{Desk, DeskError, no_visit};
use crate::clock;
use crate::finalise;
use crate::pipeline::rows;
use crate::report::gathered::counting;
use crate::store::records::{RepetitionRecord, VisitRecord};
use crate::store::rows::{AuditEntry, Verdict};
use crate::store::words::VisitState;
use crate::store::{Amended, Amendment, Reader, RepetitionId, VisitId, Write, subject};

/// The longest text that is taken, characters.
const LONGEST: usize = 2000;

/// What is to be put right.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
pub struct Request {
    /// What is done.
    #[serde(flatten)]
    pub change: Change,
    /// Why; for a repetition it must be told.
    #[serde(default)]
    pub reason: String,
    /// Who does it: a code, if told.
    #[serde(default)]
    pub by: Option<String>,
}

/// What is done.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(tag = "change", rename_all = "kebab-case")]
pub enum Change {
    /// A repetition does not count.
    StrikeOut {
        /// The repetition's id.
        repetition: String,
    },
    /// It counts again.
    Restore {
        /// The repetition's id.
        repetition: String,
    },
    /// It belongs to another phase.
    Relabel {
        /// The repetition's id.
        repetition: String,
        /// The phase.
        #[schema(value_type = String)]
        phase: Phase,
    },
    /// The visit's notes are these.
    Notes {
        /// All of them.
        text: String,
    },
}

impl Desk {
    /// Puts something right and stores it with its reason and with the comparisons anew.
    ///
    /// # Errors
    /// [`DeskError`]; nothing is changed then.
    pub async fn amend(&self, visit: VisitId, request: Request) -> Result<(), DeskError> {
        let dir = self.dir.clone();
        let reading = tokio::task::spawn_blocking(move || Reader::open(&dir)?.visit(visit));
        let record = reading
            .await
            .map_err(|error| DeskError::Refused(format!("the visit was not read: {error}")))??
            .ok_or_else(|| no_visit(visit))?;
        let amendment = amendment(record, &request)?;
        self.writer.save(Write::Amend(Box::new(amendment))).await?;
        Ok(())
    }
}

/// What is to be stored.
fn amendment(mut visit: VisitRecord, request: &Request) -> Result<Amendment, DeskError> {
    let id = visit.summary.id;
    if visit.summary.state == VisitState::Open {
        let text = "this visit is still being recorded: end it, then put right what is wrong";
        return Err(DeskError::Refused(text.to_owned()));
    }
    let reason = checked(&request.reason)?;
    let (what, action, before) = match &request.change {
        Change::Notes { text } => {
            let text = checked(text)?;
            let notes = (!text.is_empty()).then(|| text.to_owned());
            let before = visit.notes.take().unwrap_or_default();
            (Amended::Notes { visit: id, notes }, "notes", before)
        }
        Change::StrikeOut { repetition } => {
            let one = found(&mut visit, repetition)?;
            if let Some(reason) = &one.struck_out {
                return Err(DeskError::Refused(format!("it is struck out already: {reason}")));
            }
            one.struck_out = Some(reason.to_owned());
            let reason = Some(reason.to_owned());
            (Amended::StrikeOut { repetition: one.id, reason }, "strike-out", String::new())
        }
        Change::Restore { repetition } => {
            let one = found(&mut visit, repetition)?;
            let before = one
                .struck_out
                .take()
                .ok_or_else(|| DeskError::Refused("it is not struck out".to_owned()))?;
            (Amended::StrikeOut { repetition: one.id, reason: None }, "restore", before)
        }
        Change::Relabel { repetition, phase } => {
            let one = found(&mut visit, repetition)?;
            if one.phase == *phase {
                return Err(DeskError::Refused(format!("it belongs to {phase} already")));
            }
            let before = std::mem::replace(&mut one.phase, *phase).to_string();
            (Amended::Relabel { repetition: one.id, phase: *phase }, "relabel", before)
        }
    };
    let repetition = match &what {
        Amended::StrikeOut { repetition, .. } | Amended::Relabel { repetition, .. } => {
            Some(*repetition)
        }
        Amended::Notes { .. } => None,
    };
    if repetition.is_some() && reason.is_empty() {
        return Err(DeskError::Refused("say why: the reason is kept with it".to_owned()));
    }
    let entry = AuditEntry {
        at: clock::wall().timestamp(),
        actor: request.by.as_deref().map(str::trim).filter(|by| !by.is_empty()).map(str::to_owned),
        action: action.to_owned(),
        subject: subject(id, repetition),
        detail: Some(detail(reason, &before, &what)),
    };
    let verdicts = repetition.map_or_else(Vec::new, |_| compared(&visit));
    Ok(Amendment { what, verdicts, entry })
}

fn checked(text: &str) -> Result<&str, DeskError> {
    let text = text.trim();
    if text.chars().count() > LONGEST {
        return Err(DeskError::Refused(format!("the text has more than {LONGEST} characters")));
    }
    Ok(text)
}

fn found<'a>(
    visit: &'a mut VisitRecord,
    repetition: &str,
) -> Result<&'a mut RepetitionRecord, DeskError> {
    let id = visit.summary.id;
    let missing = || DeskError::Missing(format!("visit {id} has no repetition {repetition}"));
    let wanted: RepetitionId = repetition.parse().map_err(|_not_a_number| missing())?;
    visit.repetitions.iter_mut().find(|one| one.id == wanted).ok_or_else(missing)
}

/// The reason, and what was before.
fn detail(reason: &str, before: &str, what: &Amended) -> String {
    let now = match what {
        Amended::Relabel { phase, .. } => format!("{before} → {phase}"),
        Amended::StrikeOut { reason: Some(_), .. } => String::new(),
        _ if before.is_empty() => String::new(),
        _ => format!("before: “{before}”"),
    };
    [reason, now.as_str()]
        .iter()
        .filter(|part| !part.is_empty())
        .copied()
        .collect::<Vec<_>>()
        .join("; ")
}

/// Before against after as it is now, for every leg that was measured.
fn compared(visit: &VisitRecord) -> Vec<Verdict> {
    let all: Vec<Repetition> = counting(&visit.repetitions);
    let mut sides: Vec<_> = visit.repetitions.iter().map(|one| one.side).collect();
    sides.sort_unstable();
    sides.dedup();
    sides
        .into_iter()
        .flat_map(|side| {
            let conditions = finalise::conditions(visit, side);
            verdicts_under(&conditions, side, visit.summary.test, &all)
        })
        .map(|verdict| rows::verdict(visit.summary.id, &verdict))
        .collect()
}
