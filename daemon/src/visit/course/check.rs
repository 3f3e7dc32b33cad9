//! Which answers can be taken; each refusal says what to do.

use endarc_protocol::words::TestKind;

use super::answer::{Answer, Consent, Person, Plan};
use super::strings;

/// The longest text of an answer, characters.
const MOST_CHARS: usize = 500;

/// Whether an answer can stand by itself.
pub(super) fn check(answer: &Answer, test: TestKind, under_18: bool) -> Result<(), String> {
    if texts(answer).iter().any(|text| text.chars().count() > MOST_CHARS) {
        return Err(strings::too_long(MOST_CHARS));
    }
    match answer {
        Answer::Person(person) => check_person(person, test),
        Answer::Cautions(told) if !told.apply.is_empty() && blank(&told.looked_at) => {
            Err(strings::LOOKED_AT.to_owned())
        }
        Answer::Growth(told)
            if (told.limp || told.knee_or_groin_pain) && blank(&told.looked_at) =>
        {
            Err(strings::GROWTH_PLATE.to_owned())
        }
        Answer::Consent(told) => check_consent(told, under_18),
        Answer::Plan(told) => check_plan(told, test),
        Answer::Skip(told) if blank(&told.reason) => Err(strings::REASON.to_owned()),
        Answer::Rater(told) if !is_code(&told.code) => Err(strings::code(&told.code)),
        Answer::Pain(told) if told.rating > 10 => Err(strings::PAIN_RANGE.to_owned()),
        Answer::Technique(told) if blank(&told.name) => Err(strings::EMPTY.to_owned()),
        Answer::Note(told) if blank(&told.text) => Err(strings::EMPTY.to_owned()),
        _ => Ok(()),
    }
}

fn check_person(person: &Person, test: TestKind) -> Result<(), String> {
    if let Some(code) = person.code.as_deref()
        && !is_code(code)
    {
        return Err(strings::code(code));
    }
    let moved = |barred: &super::Way| test.directions().contains(&barred.direction);
    match person.barred.iter().find(|barred| !moved(barred)) {
        Some(barred) => Err(strings::not_moved(barred.direction)),
        None => Ok(()),
    }
}

fn check_consent(told: &Consent, under_18: bool) -> Result<(), String> {
    if !told.contact {
        return Err(strings::NO_CONTACT.to_owned());
    }
    if !told.keeping {
        return Err(strings::NO_KEEPING.to_owned());
    }
    if under_18 && !(told.guardian && told.child) {
        return Err(strings::GUARDIAN.to_owned());
    }
    if told.years == 0 {
        return Err(strings::YEARS.to_owned());
    }
    Ok(())
}

fn check_plan(told: &Plan, test: TestKind) -> Result<(), String> {
    if !(1..=10).contains(&told.repetitions) || told.warm_up > 3 {
        return Err(strings::COUNTS.to_owned());
    }
    if !test.directions().contains(&told.primary.direction) {
        return Err(strings::not_moved(told.primary.direction));
    }
    Ok(())
}

/// A code as the store takes it: 1 to 32 ASCII letters, digits, `-`, `_` or `.`, beginning with a
/// letter or digit.
fn is_code(text: &str) -> bool {
    let allowed = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    text.len() <= 32
        && text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && text.chars().all(allowed)
}

fn blank(text: &str) -> bool {
    text.trim().is_empty()
}

fn texts(answer: &Answer) -> Vec<&str> {
    match answer {
        Answer::Cautions(told) => vec![&told.looked_at],
        Answer::Growth(told) => vec![&told.looked_at],
        Answer::Consent(told) => vec![&told.agreed],
        Answer::Skip(told) => vec![&told.reason],
        Answer::End(told) => vec![&told.stopped_by, &told.felt_where],
        Answer::Technique(told) => vec![&told.name, &told.tissue, &told.contact, &told.effort],
        Answer::Note(told) => vec![&told.text],
        _ => Vec::new(),
    }
}
