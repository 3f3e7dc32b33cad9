//! A visit on its way out: all that is kept of it, with the codes it leaves under.

use std::collections::BTreeMap;

use endarc_protocol::words::SensorRole;

use super::Disguise;
use crate::store::records::{RepetitionRecord, VisitRecord, VisitSummary};
use crate::store::{ReadError, Reader, VisitId};

/// A visit as it leaves.
#[derive(Debug, Clone)]
pub struct Leaving {
    /// All that is kept of it but its samples.
    pub record: VisitRecord,
    /// The person's code outside.
    pub person: String,
    /// The visit's code outside: the person's and its number.
    pub code: String,
    /// Which of the person's visits in this export it is, from 1, by the time it began.
    pub number: u32,
}

impl Leaving {
    /// The visit's key inside.
    #[must_use]
    pub const fn id(&self) -> VisitId {
        self.record.summary.id
    }

    /// The person's code inside, by which dates are shifted.
    #[must_use]
    pub fn inside(&self) -> &str {
        self.record.summary.person.as_str()
    }

    /// Where sensors were worn, each once.
    #[must_use]
    pub fn roles(&self) -> Vec<SensorRole> {
        let mut roles: Vec<_> = self.record.sensors.iter().map(|sensor| sensor.role).collect();
        roles.dedup();
        roles
    }

    /// The repetitions that have a value, by time.
    pub fn repetitions(&self) -> impl Iterator<Item = &RepetitionRecord> {
        self.record.repetitions.iter().filter(|one| one.value().is_some())
    }
}

/// Reads the chosen visits, and gives each its code.
///
/// # Errors
/// [`ReadError`].
pub fn records(reader: &Reader, chosen: &[VisitSummary]) -> Result<Vec<VisitRecord>, ReadError> {
    let mut records = Vec::new();
    for visit in chosen {
        // One that was removed since it was chosen is not there to leave.
        records.extend(reader.visit(visit.id)?);
    }
    Ok(records)
}

/// The visits with the codes they leave under.
#[must_use]
pub fn leaving(mut records: Vec<VisitRecord>, disguise: &Disguise) -> Vec<Leaving> {
    records.sort_by_key(|record| (record.summary.started.utc, record.summary.id));
    let mut numbers: BTreeMap<String, u32> = BTreeMap::new();
    let mut visits: Vec<Leaving> = Vec::new();
    for record in records {
        let person = disguise.person(record.summary.person.as_str());
        let number = numbers.entry(person.clone()).or_default();
        *number += 1;
        let number = *number;
        visits.push(Leaving { code: format!("{person}-{number}"), person, number, record });
    }
    // By code, so that the order tells nothing either.
    visits.sort_by(|a, b| (&a.person, a.number).cmp(&(&b.person, b.number)));
    visits
}
