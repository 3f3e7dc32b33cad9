//! Names of files and things: BIDS labels know letters and digits only.

use endarc_protocol::words::{SensorRole, TestKind};

use crate::export::{ExportError, Leaving};

/// A text without what a label does not know.
fn label(text: &str) -> String {
    text.chars().filter(char::is_ascii_alphanumeric).collect()
}

/// The subject of a person's code.
pub(super) fn subject(person: &str) -> String {
    format!("sub-{}", label(person))
}

/// The session of a visit.
pub(super) fn session(visit: &Leaving) -> String {
    format!("ses-{}", visit.number)
}

/// The folder of a visit's motion files.
fn motion_folder(visit: &Leaving) -> String {
    format!("{}/{}/motion", subject(&visit.person), session(visit))
}

/// What the names of a visit's files begin with, with their folder.
pub(super) fn of_visit(visit: &Leaving) -> String {
    let task = task(visit.record.summary.test);
    let (subject, session) = (subject(&visit.person), session(visit));
    format!("{}/{subject}_{session}_task-{task}", motion_folder(visit))
}

/// What the names of a sensor's files begin with, with their folder.
pub(super) fn of_sensor(visit: &Leaving, role: SensorRole) -> String {
    format!("{}_tracksys-{}", of_visit(visit), label(role.as_str()))
}

/// The label of a test.
pub(super) fn task(test: TestKind) -> String {
    label(test.as_str())
}

/// The body part a sensor is worn on, as a tracked point.
#[must_use]
pub(crate) const fn tracked_point(role: SensorRole) -> &'static str {
    match role {
        SensorRole::LeftShank => "LeftShank",
        SensorRole::RightShank => "RightShank",
        SensorRole::Pelvis => "Pelvis",
        SensorRole::LeftThigh => "LeftThigh",
        SensorRole::RightThigh => "RightThigh",
    }
}

/// Refuses two persons whose codes differ only in what a label does not know.
pub(super) fn distinct(visits: &[Leaving]) -> Result<(), ExportError> {
    for (place, one) in visits.iter().enumerate() {
        let clash = |other: &&Leaving| {
            other.person != one.person
                && subject(&other.person).eq_ignore_ascii_case(&subject(&one.person))
        };
        if let Some(other) = visits.iter().skip(place + 1).find(clash) {
            return Err(ExportError::SameLabel(one.person.clone(), other.person.clone()));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_has_letters_and_digits_only() {
        assert_eq!(subject("P-014"), "sub-P014");
        assert_eq!(task(TestKind::Supine9090HipRotation), "supine9090hiprotation");
    }
}
