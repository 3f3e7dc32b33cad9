//! The page for the person, in plain words.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::phrases::{self, capital};
use super::{dose, figures, ranges, told};
use crate::report::document::{Block, Document};
use crate::report::gathered::Gathered;
use crate::store::words::Finding;
use crate::words::Words;

/// Text size, points: read without haste, at arm's length.
const SIZE_PT: f32 = 11.0;

/// The page for the person.
pub(in crate::report) fn person(visit: &Gathered, words: &Words, with_ranges: bool) -> Document {
    let summary = &visit.visit.summary;
    let (code, date) =
        (summary.person.to_string(), phrases::when(words, "date.time", &summary.started));
    let places = [("person", code.as_str()), ("date", date.as_str())];
    let heading = |key: &str| Block::Heading(words.word("person.heading", key).to_owned());
    let text = |key: &str| Block::Text(words.get(key).to_owned());
    let title = match visit.test() {
        TestKind::ProneKneeBend => "report.person.title-knee",
        _ => "report.person.title",
    };
    let mut blocks = vec![
        Block::Title(words.get(title).to_owned(), words.fill("report.person.under", &places)),
        text("person.intro"),
        Block::Gauge(figures::gauge(visit, words)),
        heading("result"),
        Block::List(results(visit, words)),
        heading("change"),
        text("person.change"),
        heading("done"),
        Block::List(dose::done(visit, words)),
    ];
    let pains = told::pains(visit, words);
    if !pains.is_empty() {
        blocks.extend([heading("pain"), Block::Text(capital(&pains.join(", ")))]);
    }
    blocks.extend([heading("means"), text("person.means"), text("person.ask")]);
    if with_ranges {
        let heading = words.get("report.heading.ranges").to_owned();
        blocks.extend([Block::Heading(heading), Block::List(ranges::lines(visit.test(), words))]);
    }
    blocks.push(Block::Framed(phrases::always(words)));
    Document {
        language: words.language().tag(),
        title: words.fill("report.window.person", &places),
        foot: phrases::foot(words, visit),
        size_pt: SIZE_PT,
        blocks,
    }
}

/// One sentence per leg and direction; totals are left to the record.
fn results(visit: &Gathered, words: &Words) -> Vec<String> {
    let mut lines = Vec::new();
    for side in visit.sides() {
        for &direction in visit.test().directions() {
            lines.extend(result(visit, words, side, direction));
        }
    }
    if lines.is_empty() {
        lines.push(words.get("report.none").to_owned());
    }
    lines
}

fn result(visit: &Gathered, words: &Words, side: Side, direction: Direction) -> Option<String> {
    let of = |phase| visit.mean(side, phase, Some(direction)).map(|one| words.angle(one.mean_deg));
    let hip = words.word("hip", side);
    let way = words.word("plain", direction);
    match (of(Phase::Baseline), of(Phase::Retest)) {
        (Some(before), Some(after)) => Some(words.fill(
            "person.line",
            &[
                ("hip", hip),
                ("way", way),
                ("before", &before),
                ("after", &after),
                ("verdict", &verdict(visit, words, side, direction)),
            ],
        )),
        (Some(mean), None) => Some(once(words, hip, way, &mean, Phase::Baseline)),
        (None, Some(mean)) => Some(once(words, hip, way, &mean, Phase::Retest)),
        (None, None) => None,
    }
}

fn once(words: &Words, hip: &str, way: &str, mean: &str, phase: Phase) -> String {
    let phase = words.word("person.phase", phase).to_owned();
    let places = [("hip", hip), ("way", way), ("mean", mean), ("phase", &phase)];
    words.fill("person.line.once", &places)
}

fn verdict(visit: &Gathered, words: &Words, side: Side, direction: Direction) -> String {
    let Some(verdict) = visit.verdict(side, Some(direction)) else {
        return words.get("person.no-claim").to_owned();
    };
    let Some((change, limit)) = verdict.change_deg.zip(verdict.mdc95_deg) else {
        return words.get("person.no-claim").to_owned();
    };
    let size = words.angle(change.abs());
    match verdict.finding {
        Finding::ExceedsError if change > 0.0 => {
            words.fill("person.exceeds.more", &[("change", &size)])
        }
        Finding::ExceedsError => words.fill("person.exceeds.less", &[("change", &size)]),
        Finding::WithinError => {
            let limit = words.angle(limit);
            words.fill("person.within", &[("change", &size), ("limit", &limit)])
        }
        _ => words.get("person.no-claim").to_owned(),
    }
}
