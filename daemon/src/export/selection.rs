//! Which visits are taken out.

use jiff::civil::Date;
use jiff::tz::{Offset, TimeZone};

use super::ExportError;
use crate::store::records::VisitSummary;
use crate::store::words::VisitState;
use crate::store::{Code, VisitId};

/// Which visits: those that fit everything that is said. Nothing said: all that are over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Selection {
    /// These; none named: any.
    pub visits: Vec<VisitId>,
    /// Of these persons; none named: of any.
    pub persons: Vec<Code>,
    /// That began on this day or later, by the clock on the wall there.
    pub from: Option<Date>,
    /// That began on this day or before.
    pub to: Option<Date>,
}

impl Selection {
    /// Whether visits or persons were named one by one.
    #[must_use]
    pub fn is_named(&self) -> bool {
        !self.visits.is_empty() || !self.persons.is_empty()
    }

    /// Those of the stored visits that fit, in the order in which they were stored.
    ///
    /// # Errors
    /// When one that is named is not there or not over, or none fits.
    pub fn of(&self, stored: Vec<VisitSummary>) -> Result<Vec<VisitSummary>, ExportError> {
        for named in &self.visits {
            let Some(visit) = stored.iter().find(|visit| visit.id == *named) else {
                return Err(ExportError::NoVisit(named.to_string()));
            };
            if visit.state == VisitState::Open {
                return Err(ExportError::StillOpen(named.to_string()));
            }
        }
        for named in &self.persons {
            if !stored.iter().any(|visit| same(&visit.person, named)) {
                return Err(ExportError::NoPerson(named.to_string()));
            }
        }
        let chosen: Vec<_> = stored.into_iter().filter(|visit| self.fits(visit)).collect();
        match chosen.is_empty() {
            true => Err(ExportError::Nothing("none that is over fits what was asked")),
            false => Ok(chosen),
        }
    }

    fn fits(&self, visit: &VisitSummary) -> bool {
        let day = day(visit);
        visit.state != VisitState::Open
            && (self.visits.is_empty() || self.visits.contains(&visit.id))
            && (self.persons.is_empty()
                || self.persons.iter().any(|code| same(code, &visit.person)))
            && self.from.is_none_or(|from| from <= day)
            && self.to.is_none_or(|to| day <= to)
    }
}

/// Upper and lower case do not make a different person.
fn same(one: &Code, other: &Code) -> bool {
    one.as_str().eq_ignore_ascii_case(other.as_str())
}

/// The day on which a visit began, where it was.
fn day(visit: &VisitSummary) -> Date {
    let offset = Offset::from_seconds(visit.started.offset_s).unwrap_or(Offset::UTC);
    visit.started.utc.to_zoned_datetime(TimeZone::fixed(offset)).date()
}

#[cfg(test)]
mod tests {
    use endarc_protocol::words::TestKind;

    use super::*;
    use crate::store::WallTime;
    use crate::store::words::Source;

    fn visit(id: &str, person: &str, utc: &str, state: VisitState) -> VisitSummary {
        VisitSummary {
            id: id.parse().unwrap(),
            uid: String::new(),
            person: person.parse().unwrap(),
            test: TestKind::ProneHipRotation,
            source: Source::Sim,
            state,
            started: WallTime { utc: utc.parse().unwrap(), offset_s: 7200, zone: None },
            started_s: 0.0,
            ended_s: Some(60.0),
        }
    }

    fn stored() -> Vec<VisitSummary> {
        vec![
            visit("1", "P-1", "2026-03-01T10:00:00Z", VisitState::Closed),
            visit("2", "P-2", "2026-03-31T22:30:00Z", VisitState::Interrupted),
            visit("3", "P-1", "2026-05-01T10:00:00Z", VisitState::Open),
        ]
    }

    fn ids(selection: &Selection) -> Vec<String> {
        selection.of(stored()).unwrap().iter().map(|visit| visit.id.to_string()).collect()
    }

    #[test]
    fn nothing_said_is_all_that_are_over() {
        assert_eq!(ids(&Selection::default()), ["1", "2"]);
    }

    #[test]
    fn a_day_is_that_of_the_clock_on_the_wall() {
        // 22:30 UTC is half past midnight two hours further east.
        let from =
            |text: &str| Selection { from: Some(text.parse().unwrap()), ..Default::default() };
        assert_eq!(ids(&from("2026-04-01")), ["2"]);
        assert!(from("2026-04-02").of(stored()).is_err());
        let to = Selection { to: Some("2026-03-31".parse().unwrap()), ..Default::default() };
        assert_eq!(ids(&to), ["1"]);
    }

    #[test]
    fn what_is_named_must_be_there() {
        let persons = vec!["p-2".parse().unwrap()];
        assert_eq!(ids(&Selection { persons, ..Default::default() }), ["2"]);
        let persons = vec!["P-9".parse().unwrap()];
        let gone = Selection { persons, ..Default::default() }.of(stored()).unwrap_err();
        assert!(gone.to_string().contains("no person P-9"), "{gone}");
        let named =
            |id: &str| Selection { visits: vec![id.parse().unwrap()], ..Default::default() };
        assert!(named("9").of(stored()).unwrap_err().to_string().contains("no visit 9"));
        assert!(named("3").of(stored()).unwrap_err().to_string().contains("still being recorded"));
    }
}
