//! What a person puts right afterwards: nothing is deleted, and who did what is kept beside it.

use endarc_protocol::words::Phase;
use rusqlite::{Connection, params};

use super::reader::{ReadError, word};
use super::rows::{AuditEntry, Verdict};
use super::words::Word;
use super::write::{insert, one, verdict};
use super::{Reader, RepetitionId, VisitId};

/// Something put right, with all that follows from it: stored together or not at all.
#[derive(Debug, Clone, PartialEq)]
pub struct Amendment {
    /// What.
    pub what: Amended,
    /// The comparisons anew.
    pub verdicts: Vec<Verdict>,
    /// Who did it and why.
    pub entry: AuditEntry,
}

/// What is put right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Amended {
    /// A repetition does not count, for a reason; without one it counts again.
    StrikeOut {
        /// The repetition.
        repetition: RepetitionId,
        /// Why.
        reason: Option<String>,
    },
    /// A repetition belongs to another phase; it becomes the last one there.
    Relabel {
        /// The repetition.
        repetition: RepetitionId,
        /// The phase.
        phase: Phase,
    },
    /// The visit's notes.
    Notes {
        /// The visit.
        visit: VisitId,
        /// All of them; `None` for none.
        notes: Option<String>,
    },
}

/// Does it, inside the caller's transaction.
pub(super) fn amend(db: &Connection, new: &Amendment) -> rusqlite::Result<i64> {
    let key = match &new.what {
        Amended::StrikeOut { repetition, reason } => {
            let sql = "UPDATE repetition SET struck_out = ?2 WHERE id = ?1";
            one(db.prepare_cached(sql)?.execute(params![repetition.0, reason])?, repetition.0)?
        }
        Amended::Relabel { repetition, phase } => relabel(db, *repetition, *phase)?,
        Amended::Notes { visit, notes } => {
            let sql = "UPDATE visit SET notes = ?2 WHERE id = ?1";
            one(db.prepare_cached(sql)?.execute(params![visit.0, notes])?, visit.0)?
        }
    };
    for one in &new.verdicts {
        verdict(db, one)?;
    }
    audit(db, &new.entry)?;
    Ok(key)
}

fn relabel(db: &Connection, repetition: RepetitionId, phase: Phase) -> rusqlite::Result<i64> {
    let sql = "UPDATE repetition AS moved SET phase = ?2,
                   number = 1 + (SELECT ifnull(max(number), 0) FROM repetition AS other
                                 WHERE other.visit = moved.visit AND other.side = moved.side
                                   AND other.phase = ?2 AND other.direction = moved.direction)
               WHERE id = ?1 AND phase <> ?2";
    let changed = db.prepare_cached(sql)?.execute(params![repetition.0, Word(phase)])?;
    one(changed, repetition.0)
}

/// Keeps who did what.
pub(super) fn audit(db: &Connection, new: &AuditEntry) -> rusqlite::Result<i64> {
    insert(
        db,
        "INSERT INTO audit (at, actor, action, subject, detail) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![new.at.to_string(), new.actor, new.action, new.subject, new.detail],
    )
}

/// What an entry about a visit, or about something in it, names.
#[must_use]
pub fn subject(visit: VisitId, repetition: Option<RepetitionId>) -> String {
    let within = repetition.map_or_else(String::new, |one| format!(", repetition {one}"));
    format!("visit {visit}{within}")
}

impl Reader {
    /// What was done to a visit and to what is in it, oldest first.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn audit(&self, visit: VisitId) -> Result<Vec<AuditEntry>, ReadError> {
        let sql = "SELECT at, actor, action, subject, detail FROM audit
                   WHERE subject = ?1 OR subject LIKE ?1 || ',%' ORDER BY id";
        let mut rows = self.connection().prepare_cached(sql)?;
        let entries = rows.query_map([subject(visit, None)], |row| {
            Ok(AuditEntry {
                at: word(row, 0)?,
                actor: row.get(1)?,
                action: row.get(2)?,
                subject: row.get(3)?,
                detail: row.get(4)?,
            })
        })?;
        Ok(entries.collect::<rusqlite::Result<_>>()?)
    }
}
