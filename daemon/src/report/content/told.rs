//! Pain, cautions and consent, as they were told.

use super::phrases;
use crate::report::gathered::Gathered;
use crate::store::told::{Consent, Pain};
use crate::words::Words;

/// One fact each; what was not asked is said to be not recorded.
pub(super) fn facts(visit: &Gathered, words: &Words) -> Vec<(String, String)> {
    let told = &visit.told;
    let cautions = told.cautions.iter().map(|one| {
        let places = [("question", one.question.as_str()), ("answer", one.answer.as_str())];
        words.fill("report.caution.one", &places)
    });
    let consents = standing(&told.consents).into_iter().map(|one| {
        let key = if one.given { "report.consent.given" } else { "report.consent.withdrawn" };
        let places = [("purpose", &*one.purpose), ("date", &*phrases::day(words, visit, one.at))];
        words.fill(key, &places)
    });
    vec![
        (words.get("report.pain").to_owned(), or_nothing(words, pains(visit, words), ", ")),
        (words.get("report.cautions").to_owned(), or_nothing(words, cautions.collect(), "; ")),
        (words.get("report.consent").to_owned(), or_nothing(words, consents.collect(), "; ")),
    ]
}

/// Each rating with when and where it was told.
pub(super) fn pains(visit: &Gathered, words: &Words) -> Vec<String> {
    let one = |pain: &Pain| {
        let phase = pain.phase.map(|phase| words.word("phase", phase).to_owned());
        let side = pain.side.map(|side| phrases::side(words, side));
        let when: Vec<String> = [phase, side, pain.note.clone()].into_iter().flatten().collect();
        let places = [("when", &*when.join(" ")), ("rating", &*pain.rating.to_string())];
        words.fill("report.pain.one", &places).trim().to_owned()
    };
    visit.told.pains.iter().map(one).collect()
}

/// Of several on the same purpose the last: that one holds.
fn standing(consents: &[Consent]) -> Vec<&Consent> {
    let mut standing: Vec<&Consent> = Vec::new();
    for one in consents {
        standing.retain(|earlier| earlier.purpose != one.purpose);
        standing.push(one);
    }
    standing
}

fn or_nothing(words: &Words, lines: Vec<String>, between: &str) -> String {
    if lines.is_empty() { words.get("not.recorded").to_owned() } else { lines.join(between) }
}
