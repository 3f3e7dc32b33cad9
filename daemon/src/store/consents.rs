//! What persons agreed to, as it stands now.

use jiff::Timestamp;
use rusqlite::Row;

use super::reader::{ReadError, word};
use super::{Code, Reader, VisitId};

/// The purpose for which data may be used in research.
pub const RESEARCH: &str = "research";

/// The newest answer of a person for one purpose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConsentRecord {
    /// What for.
    pub purpose: String,
    /// Whether they agree; false also where they took it back.
    pub given: bool,
    /// Which wording they were asked with.
    pub wording_version: String,
    /// When they answered.
    pub at: Timestamp,
}

fn record(row: &Row<'_>) -> rusqlite::Result<ConsentRecord> {
    Ok(ConsentRecord {
        purpose: row.get(0)?,
        given: row.get(1)?,
        wording_version: row.get(2)?,
        at: word(row, 3)?,
    })
}

impl Reader {
    /// What the person of a visit agrees to, the newest answer for each purpose.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn consents(&self, visit: VisitId) -> Result<Vec<ConsentRecord>, ReadError> {
        let sql = "SELECT purpose, given, wording_version, at FROM consent
                   WHERE id IN (SELECT max(id) FROM consent
                                WHERE person = (SELECT person FROM visit WHERE id = ?1)
                                GROUP BY purpose)
                   ORDER BY purpose";
        let mut consents = self.connection().prepare_cached(sql)?;
        let consents = consents.query_map([visit.0], record)?;
        Ok(consents.collect::<rusqlite::Result<_>>()?)
    }

    /// Persons whose newest answer for research is no.
    ///
    /// # Errors
    /// [`ReadError::Sqlite`].
    pub fn refusing_research(&self) -> Result<Vec<Code>, ReadError> {
        let sql = "SELECT code FROM consent JOIN person ON person.id = consent.person
                   WHERE consent.id IN (SELECT max(id) FROM consent WHERE purpose = ?1
                                        GROUP BY person)
                         AND NOT given";
        let mut persons = self.connection().prepare_cached(sql)?;
        let persons = persons.query_map([RESEARCH], |row| word(row, 0))?;
        Ok(persons.collect::<rusqlite::Result<_>>()?)
    }
}
