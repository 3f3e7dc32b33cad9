//! The page for the record.

use endarc_analysis::verdict::{SideDifference, side_differences};
use endarc_protocol::words::{Phase, Side};

use super::phrases::{self, capital};
use super::{dose, figures, method, ranges, told};
use crate::report::document::{Block, Document};
use crate::report::gathered::Gathered;
use crate::store::rows::Verdict;
use crate::store::words::Finding;
use crate::words::{Language, Words};

/// Text size, points.
const SIZE_PT: f32 = 8.6;

/// The page for the record.
pub(in crate::report) fn record(visit: &Gathered, words: &Words, with_ranges: bool) -> Document {
    let summary = &visit.visit.summary;
    let person = summary.person.to_string();
    let heading = |key: &str| Block::Heading(words.word("report.heading", key).to_owned());
    let mut blocks = vec![
        Block::Title(
            words.fill(
                "report.record.title",
                &[("person", &person), ("test", words.word("test", summary.test))],
            ),
            under(visit, words),
        ),
        Block::Gauge(figures::gauge(visit, words)),
        Block::Table(figures::table(visit, words)),
        heading("said"),
        Block::List(said(visit, words)),
    ];
    let mut left = vec![heading("why"), Block::List(why(visit, words)), heading("sides")];
    left.push(Block::List(sides(visit, words)));
    left.extend([heading("dose"), Block::List(dose::lines(visit, words))]);
    if let Some(notes) = &visit.visit.notes {
        left.extend([heading("notes"), Block::Text(notes.clone())]);
    }
    let right = vec![
        heading("method"),
        Block::Facts(method::facts(visit, words)),
        heading("told"),
        Block::Facts(told::facts(visit, words)),
    ];
    blocks.push(Block::Columns(left, right));
    if with_ranges {
        blocks.extend([heading("ranges"), Block::List(ranges::lines(visit.test(), words))]);
    }
    blocks.push(Block::Framed(phrases::always(words)));
    let places = [("visit", &*summary.id.to_string()), ("person", &person)];
    Document {
        language: words.language().tag(),
        title: words.fill("report.window.record", &places),
        foot: phrases::foot(words, visit),
        size_pt: SIZE_PT,
        blocks,
    }
}

fn under(visit: &Gathered, words: &Words) -> String {
    let summary = &visit.visit.summary;
    words.fill(
        "report.record.under",
        &[
            ("visit", &summary.id.to_string()),
            ("date", &phrases::when(words, "date.time", &summary.started)),
            ("state", words.word("state", summary.state)),
            ("source", words.word("source", summary.source)),
        ],
    )
}

/// What each comparison says.
fn said(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut said = Vec::new();
    for side in visit.sides() {
        for direction in visit.directions() {
            let Some(verdict) = visit.verdict(side, direction) else { continue };
            let what = capital(&phrases::what(words, side, direction));
            let places = [("what", &*what), ("statement", &*statement(words, verdict))];
            said.push(words.fill("report.said", &places));
        }
    }
    if said.is_empty() {
        return vec![words.get("report.none").to_owned()];
    }
    said.push(match visit.visit.primary {
        Some((side, direction)) => {
            let what = phrases::what(words, side, Some(direction));
            words.fill("report.primary", &[("what", &what)])
        }
        None => words.get("report.no-primary").to_owned(),
    });
    said
}

/// A verdict in a sentence: as it was made, or in another language its gist.
fn statement(words: &Words, verdict: &Verdict) -> String {
    let parts = verdict.change_deg.zip(verdict.mdc95_deg);
    let key = match (words.language(), verdict.finding, parts) {
        (Language::En, _, _) => return verdict.statement.clone(),
        (_, Finding::ExceedsError, Some(_)) => "report.statement.exceeds",
        (_, Finding::WithinError, Some(_)) => "report.statement.within",
        _ => "report.statement.none",
    };
    let (change, limit) = parts.unwrap_or_default();
    let places = [
        ("change", &*words.change(change)),
        ("limit", &*words.angle(limit)),
        ("original", &*verdict.statement),
    ];
    words.fill(key, &places)
}

/// Each limit with its source, told once for all that share it.
fn why(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut limits: Vec<(f64, &str, Vec<String>)> = Vec::new();
    for side in visit.sides() {
        for direction in visit.directions() {
            let Some(verdict) = visit.verdict(side, direction) else { continue };
            let Some(limit) = verdict.mdc95_deg.filter(|_| verdict.change_deg.is_some()) else {
                continue;
            };
            let (source, which) =
                (verdict.mdc95_source.as_str(), phrases::what(words, side, direction));
            let same = |one: &&mut (f64, &str, Vec<String>)| {
                one.1 == source && words.angle(one.0) == words.angle(limit)
            };
            match limits.iter_mut().find(same) {
                Some((_, _, all)) => all.push(which),
                None => limits.push((limit, source, vec![which])),
            }
        }
    }
    let mut lines: Vec<String> = limits
        .into_iter()
        .map(|(limit, source, which)| {
            let places = [
                ("limit", &*words.angle(limit)),
                ("which", &*which.join("; ")),
                ("source", words.known(&format!("source: {source}")).unwrap_or(source)),
            ];
            words.fill("report.limit", &places)
        })
        .collect();
    lines.push(words.get("report.mean-note").to_owned());
    lines
}

fn sides(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut lines = Vec::new();
    for phase in [Phase::Baseline, Phase::Retest] {
        let differences = side_differences(visit.test(), phase, &visit.counting, None);
        if differences.is_empty() {
            continue;
        }
        let all: Vec<String> = differences.iter().map(|one| difference(words, one)).collect();
        let places = [("phase", words.word("phase", phase)), ("list", &all.join(", "))];
        lines.push(capital(&words.fill("report.sides.line", &places)));
    }
    let note = if lines.is_empty() { "report.sides.none" } else { "report.sides.note" };
    lines.push(words.get(note).to_owned());
    lines
}

fn difference(words: &Words, one: &SideDifference) -> String {
    let larger = if one.difference_deg > 0.0 { Side::Left } else { Side::Right };
    let places = [
        ("direction", &*phrases::direction(words, one.direction)),
        ("difference", &*words.angle(one.difference_deg.abs())),
        ("larger", &*phrases::side(words, larger)),
    ];
    words.fill("report.sides.one", &places)
}
