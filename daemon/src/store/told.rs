//! What was asked and told in a visit, read back: consent, cautions, pain, techniques, corrections.

use jiff::Timestamp;
use rusqlite::{Connection, Row};

use endarc_protocol::words::{Direction, Phase, Side};

use super::reader::{maybe_word, word};
use super::{ReadError, Reader, VisitId};

/// Everything of the kind in one visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Told {
    /// Consent given and withdrawn by this person, oldest first.
    pub consents: Vec<Consent>,
    /// Cautions asked, by time.
    pub cautions: Vec<Caution>,
    /// Pain ratings, by time.
    pub pains: Vec<Pain>,
    /// Treatment cycles, by side and number.
    pub cycles: Vec<Cycle>,
}

/// Consent given or withdrawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Consent {
    /// What for.
    pub purpose: String,
    /// Whether it was given, or withdrawn.
    pub given: bool,
    /// When.
    pub at: Timestamp,
}

/// A caution that was asked, and the answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// What was asked.
    pub question: String,
    /// What was answered.
    pub answer: String,
    /// Free text.
    pub note: Option<String>,
}

/// Pain on the scale from 0 to 10.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pain {
    /// The phase it was told in.
    pub phase: Option<Phase>,
    /// The leg.
    pub side: Option<Side>,
    /// The rating.
    pub rating: u8,
    /// Free text.
    pub note: Option<String>,
}

/// One contraction and lengthening.
#[derive(Debug, Clone, PartialEq)]
pub struct Cycle {
    /// The leg.
    pub side: Side,
    /// The direction it was meant for.
    pub direction: Option<Direction>,
    /// What is done, by its name.
    pub technique: Option<String>,
    /// How long it was contracted, s.
    pub contraction_s: Option<f64>,
    /// How long it was lengthened, s.
    pub lengthening_s: Option<f64>,
    /// How long the end was held, s.
    pub hold_s: Option<f64>,
}

impl Reader {
    /// What was asked and told in a visit; nothing for a visit that is not there. Consent is the
    /// person's: what was given in an earlier visit and not withdrawn since still holds, so all of it
    /// up to the visit's end is told.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn told(&self, visit: VisitId) -> Result<Told, ReadError> {
        let db = self.connection();
        Ok(Told {
            consents: all(db, CONSENTS, visit, |row| {
                Ok(Consent { purpose: row.get(0)?, given: row.get(1)?, at: word(row, 2)? })
            })?,
            cautions: all(db, CAUTIONS, visit, |row| {
                Ok(Caution { question: row.get(0)?, answer: row.get(1)?, note: row.get(2)? })
            })?,
            pains: all(db, PAINS, visit, |row| {
                Ok(Pain {
                    phase: maybe_word(row, 0)?,
                    side: maybe_word(row, 1)?,
                    rating: row.get(2)?,
                    note: row.get(3)?,
                })
            })?,
            cycles: all(db, CYCLES, visit, |row| {
                Ok(Cycle {
                    side: word(row, 0)?,
                    direction: maybe_word(row, 1)?,
                    technique: row.get(2)?,
                    contraction_s: row.get(3)?,
                    lengthening_s: row.get(4)?,
                    hold_s: row.get(5)?,
                })
            })?,
        })
    }
}

const CONSENTS: &str = "SELECT purpose, given, at FROM consent
    WHERE person = (SELECT person FROM visit WHERE id = ?1) AND (visit IS NULL OR visit <= ?1)
    ORDER BY id";

const CAUTIONS: &str =
    "SELECT question, answer, note FROM caution WHERE visit = ?1 ORDER BY at_s, id";

const PAINS: &str = "SELECT phase, side, rating, note FROM pain WHERE visit = ?1 ORDER BY at_s, id";

const CYCLES: &str = "SELECT side, direction, technique.name, contraction_s, lengthening_s, hold_s
    FROM cycle LEFT JOIN technique ON technique.id = cycle.technique
    WHERE visit = ?1 ORDER BY side, number";

fn all<T>(
    db: &Connection,
    sql: &str,
    visit: VisitId,
    read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    db.prepare_cached(sql)?.query_map([visit.0], read)?.collect()
}
