//! What was answered in a guided visit, written and read.

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::reader::{ReadError, word};
use super::words::{VisitState, Word};
use super::write::insert;
use super::{Reader, VisitId};
use crate::visit::course::answer::{Consent, Growth, Person, Plan, Withdraw};
use crate::visit::course::cautions::{Caution, WORDING};
use crate::visit::course::records::Pain;
use crate::visit::{Answer, BrokenOff, Known, Step};

/// Something was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct NewAnswer {
    /// The visit.
    pub visit: VisitId,
    /// When, s of visit time.
    pub at_s: f64,
    /// When, by the wall clock.
    pub at: Timestamp,
    /// At which step.
    pub step: Step,
    /// What.
    pub answer: Answer,
}

/// Something that was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRecord {
    /// When, s of visit time.
    pub at_s: f64,
    /// When, by the wall clock.
    pub at: Timestamp,
    /// At which step.
    pub step: Step,
    /// What.
    pub answer: Answer,
}

/// Keeps an answer as it was given, and what other tables hold of it.
pub(super) fn write_answer(db: &Connection, new: &NewAnswer) -> rusqlite::Result<i64> {
    let refused = |error| rusqlite::Error::ToSqlConversionFailure(Box::new(error));
    let json = serde_json::to_string(&new.answer).map_err(refused)?;
    let id = insert(
        db,
        "INSERT INTO answer (visit, at_s, at, step, answer) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![new.visit.0, new.at_s, new.at.to_string(), Word(new.step), json],
    )?;
    match &new.answer {
        Answer::Person(person) => change_person(db, new, person)?,
        Answer::Cautions(told) => {
            for caution in Caution::ALL {
                let applies = told.apply.contains(caution);
                let note = applies.then_some(told.looked_at.as_str());
                write_caution(db, new, caution.as_str(), applies, note)?;
            }
        }
        Answer::NothingNew {} => write_caution(db, new, "anything-new", false, None)?,
        Answer::Growth(told) => write_growth(db, new, told)?,
        Answer::Consent(told) => write_consents(db, new, told)?,
        Answer::Withdraw(told) => withdraw(db, new, *told)?,
        Answer::Plan(plan) => write_plan(db, new.visit, plan)?,
        Answer::Pain(pain) => write_pain(db, new, *pain)?,
        _ => {}
    }
    Ok(id)
}

/// The visit is another person's than it was begun for; one that nothing belongs to is not kept.
fn change_person(db: &Connection, new: &NewAnswer, person: &Person) -> rusqlite::Result<()> {
    let Some(code) = &person.code else { return Ok(()) };
    let before: i64 =
        db.query_row("SELECT person FROM visit WHERE id = ?1", [new.visit.0], |row| row.get(0))?;
    db.prepare_cached("INSERT OR IGNORE INTO person (code, created_at) VALUES (?1, ?2)")?
        .execute(params![code, new.at.to_string()])?;
    db.prepare_cached(
        "UPDATE visit SET person = (SELECT id FROM person WHERE code = ?2) WHERE id = ?1",
    )?
    .execute(params![new.visit.0, code])?;
    db.prepare_cached(
        "DELETE FROM person WHERE id = ?1
         AND NOT EXISTS (SELECT 1 FROM visit WHERE person = ?1)
         AND NOT EXISTS (SELECT 1 FROM consent WHERE person = ?1)",
    )?
    .execute([before])?;
    Ok(())
}

fn write_caution(
    db: &Connection,
    new: &NewAnswer,
    question: &str,
    applies: bool,
    note: Option<&str>,
) -> rusqlite::Result<()> {
    let answer = if applies { "yes" } else { "no" };
    insert(
        db,
        "INSERT INTO caution (visit, question, answer, at_s, note) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![new.visit.0, question, answer, new.at_s, note],
    )?;
    Ok(())
}

fn write_growth(db: &Connection, new: &NewAnswer, told: &Growth) -> rusqlite::Result<()> {
    let note = Some(told.looked_at.as_str()).filter(|text| !text.is_empty());
    write_caution(db, new, "limp", told.limp, note)?;
    write_caution(db, new, "knee-or-groin-pain", told.knee_or_groin_pain, note)
}

fn write_consents(db: &Connection, new: &NewAnswer, told: &Consent) -> rusqlite::Result<()> {
    let agreed = Some(told.agreed.clone()).filter(|text| !text.is_empty());
    let years = Some(format!("for {} years", told.years));
    write_consent(db, new, "contact", told.contact, agreed)?;
    write_consent(db, new, "keeping", told.keeping, years)?;
    write_consent(db, new, "research", told.research, None)?;
    for (purpose, given) in [("guardian", told.guardian), ("child", told.child)] {
        if given {
            write_consent(db, new, purpose, true, None)?;
        }
    }
    Ok(())
}

fn withdraw(db: &Connection, new: &NewAnswer, told: Withdraw) -> rusqlite::Result<()> {
    for (purpose, withdrawn) in [("contact", told.contact), ("keeping", told.keeping)] {
        if withdrawn {
            write_consent(db, new, purpose, false, Some("withdrawn".to_owned()))?;
        }
    }
    Ok(())
}

fn write_consent(
    db: &Connection,
    new: &NewAnswer,
    purpose: &str,
    given: bool,
    note: Option<String>,
) -> rusqlite::Result<()> {
    insert(
        db,
        "INSERT INTO consent (person, visit, purpose, given, wording_version, at, note)
         VALUES ((SELECT person FROM visit WHERE id = ?1), ?1, ?2, ?3, ?4, ?5, ?6)",
        params![new.visit.0, purpose, given, WORDING, new.at.to_string(), note],
    )?;
    Ok(())
}

fn write_plan(db: &Connection, visit: VisitId, plan: &Plan) -> rusqlite::Result<()> {
    db.prepare_cached(
        "UPDATE visit SET primary_side = ?2, primary_direction = ?3, end_criterion = ?4
         WHERE id = ?1",
    )?
    .execute(params![
        visit.0,
        Word(plan.primary.side),
        Word(plan.primary.direction),
        Word(plan.end_criterion)
    ])?;
    Ok(())
}

fn write_pain(db: &Connection, new: &NewAnswer, pain: Pain) -> rusqlite::Result<()> {
    let phase = match new.step {
        Step::Baseline => Some("baseline"),
        Step::Treatment => Some("treatment"),
        Step::Retest => Some("retest"),
        _ => None,
    };
    insert(
        db,
        "INSERT INTO pain (visit, phase, side, rating, at_s) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![new.visit.0, phase, pain.side.map(Word), pain.rating, new.at_s],
    )?;
    Ok(())
}

impl Reader {
    /// What was answered in a visit, oldest first; an answer of a shape that this release does not
    /// know is left out.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn answers(&self, visit: VisitId) -> Result<Vec<AnswerRecord>, ReadError> {
        let sql = "SELECT at_s, at, step, answer FROM answer WHERE visit = ?1 ORDER BY id";
        let mut rows = self.connection().prepare_cached(sql)?;
        let rows = rows.query_map([visit.0], record)?;
        Ok(rows.collect::<rusqlite::Result<Vec<_>>>()?.into_iter().flatten().collect())
    }

    /// What is known of a person from visits that are over; `None` for one who was not here before.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn known(&self, person: &str) -> Result<Option<Known>, ReadError> {
        let sql = "SELECT visit.id, substr(started_at, 1, 10) FROM visit
                   JOIN person ON person.id = visit.person
                   WHERE code = ?1 AND state <> 'open' ORDER BY visit.id";
        let mut visits = self.connection().prepare_cached(sql)?;
        let visits = visits.query_map([person], |row| Ok((VisitId(row.get(0)?), row.get(1)?)))?;
        let visits: Vec<(VisitId, String)> = visits.collect::<rusqlite::Result<_>>()?;
        let Some((_, since)) = visits.last().cloned() else { return Ok(None) };
        let mut known = Known { since, answers: Vec::new() };
        for (visit, _) in visits {
            for one in self.answers(visit)? {
                known.answers.retain(|older| !one.answer.replaces(older));
                known.answers.push(one.answer);
            }
        }
        Ok(Some(known))
    }

    /// The visit before this one, if it is the same person's (or nobody's in particular was named),
    /// broke off and began after `since`.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn broken_off(
        &self,
        before: VisitId,
        person: Option<&str>,
        since: Timestamp,
    ) -> Result<Option<BrokenOff>, ReadError> {
        let sql = "SELECT visit.id, code, state, started_at FROM visit
                   JOIN person ON person.id = visit.person
                   WHERE visit.id < ?1 ORDER BY visit.id DESC LIMIT 1";
        let last = self
            .connection()
            .query_row(sql, [before.0], |row| {
                let (state, started): (VisitState, Timestamp) = (word(row, 2)?, word(row, 3)?);
                Ok((VisitId(row.get(0)?), row.get::<_, String>(1)?, state, started))
            })
            .optional()?;
        let Some((visit, code, state, started)) = last else { return Ok(None) };
        let broke_off = matches!(state, VisitState::Interrupted | VisitState::Truncated);
        let same = person.is_none_or(|person| person.eq_ignore_ascii_case(&code));
        if !(broke_off && same && started >= since) {
            return Ok(None);
        }
        let answers = self.answers(visit)?;
        let answers: Vec<_> = answers.into_iter().map(|one| (one.step, one.answer)).collect();
        Ok((!answers.is_empty()).then_some(BrokenOff { answers }))
    }
}

fn record(row: &Row<'_>) -> rusqlite::Result<Option<AnswerRecord>> {
    let text: String = row.get(3)?;
    let (at_s, at, step) = (row.get(0)?, word(row, 1)?, word(row, 2)?);
    let answer = serde_json::from_str(&text);
    Ok(answer.ok().map(|answer| AnswerRecord { at_s, at, step, answer }))
}
