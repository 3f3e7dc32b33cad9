//! What was done in treatment.

use endarc_analysis::result::Dose;
use endarc_protocol::words::{Phase, Side};

use super::phrases::{self, capital, span};
use crate::report::gathered::Gathered;
use crate::store::told::Cycle;
use crate::words::Words;

/// One line each, and what was not recorded.
pub(super) fn lines(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut lines = done(visit, words);
    if visit.told.cycles.is_empty() {
        lines.push(words.get("report.cycles.none").to_owned());
    }
    lines
}

/// What was done, one line each.
pub(super) fn done(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut lines = Vec::new();
    for (side, doses) in &visit.doses {
        let name = phrases::side(words, *side);
        match doses {
            Ok(doses) => lines.extend(doses.iter().map(|dose| of_span(words, &name, dose))),
            Err(why) => {
                lines.push(words.fill("report.dose.unknown", &[("side", &name), ("why", why)]))
            }
        }
    }
    lines.extend(barriers(visit, words));
    lines.extend(cycles(visit, words));
    if lines.is_empty() {
        lines.push(words.get("report.dose.none").to_owned());
    }
    lines.iter().map(|line| capital(line)).collect()
}

fn of_span(words: &Words, side: &str, dose: &Dose) -> String {
    let places = [
        ("side", side),
        ("duration", &span(words, dose.duration_s)),
        ("count", &dose.oscillations.to_string()),
    ];
    let reach = match (dose.min_deg, dose.max_deg) {
        (Some(low), Some(high)) => {
            let places = [("low", &*words.change(low)), ("high", &*words.change(high))];
            words.fill("report.dose.between", &places)
        }
        _ => words.get("report.dose.flat").to_owned(),
    };
    format!("{}, {reach}.", words.fill("report.dose.span", &places))
}

/// Contractions that were seen on the way to an end range.
fn barriers(visit: &Gathered, words: &Words) -> Vec<String> {
    let seen = visit.counting.iter().filter_map(|one| Some((one, one.barriers?)));
    let treated = seen.filter(|(one, _)| one.phase == Phase::Treatment);
    treated
        .map(|(one, barriers)| {
            let places = [
                ("side", &*phrases::side(words, one.side)),
                ("direction", &*phrases::direction(words, Some(one.direction))),
                ("from", &*words.angle(barriers.start_deg)),
                ("to", &*words.angle(barriers.end_deg)),
            ];
            words.fill("report.dose.barriers", &places)
        })
        .collect()
}

/// Cycles of a kind: the leg and the technique.
type Kind<'a> = (Side, Option<&'a str>);

/// Cycles, per leg and technique.
fn cycles(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut groups: Vec<(Kind<'_>, Vec<&Cycle>)> = Vec::new();
    for cycle in &visit.told.cycles {
        let key = (cycle.side, cycle.technique.as_deref());
        match groups.iter_mut().find(|(of, _)| *of == key) {
            Some((_, cycles)) => cycles.push(cycle),
            None => groups.push((key, vec![cycle])),
        }
    }
    let total = |cycles: &[&Cycle], part: fn(&Cycle) -> Option<f64>| {
        words.number(cycles.iter().filter_map(|cycle| part(cycle)).sum(), 0)
    };
    groups
        .into_iter()
        .map(|((side, technique), cycles)| {
            let count = cycles.len().to_string();
            let contraction = total(&cycles, |cycle| cycle.contraction_s);
            let hold = total(&cycles, |cycle| cycle.hold_s);
            let sum = [("count", &*count), ("contraction", &*contraction), ("hold", &*hold)];
            let places = [
                ("side", &*phrases::side(words, side)),
                ("technique", technique.unwrap_or_else(|| words.get("not.recorded"))),
                ("cycles", &*words.fill("report.cycles", &sum)),
            ];
            words.fill("report.cycles.of", &places)
        })
        .collect()
}
