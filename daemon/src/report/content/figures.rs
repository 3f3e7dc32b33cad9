//! Before, after and change as a drawing and as a table.

use endarc_analysis::verdict::PhaseMean;
use endarc_protocol::words::{Direction, Phase, Side};

use super::phrases;
use crate::report::document::Table;
use crate::report::gathered::Gathered;
use crate::report::gauge::{Ends, Gauge, Labels, Leg, Way};
use crate::words::Words;

/// The drawing.
pub(super) fn gauge(visit: &Gathered, words: &Words) -> Gauge {
    let legs: Vec<Leg> = visit.sides().into_iter().map(|side| leg(visit, words, side)).collect();
    let label = |key: &str| words.get(key).to_owned();
    let alternative = words.fill("gauge.alternative", &[("numbers", &alternative(words, &legs))]);
    Gauge {
        legs,
        labels: Labels {
            before: label("gauge.before"),
            after: label("gauge.after"),
            bar: label("gauge.bar"),
            band: label("gauge.band"),
            line: label("gauge.line"),
        },
        alternative,
    }
}

fn leg(visit: &Gathered, words: &Words, side: Side) -> Leg {
    let way = |&direction: &Direction| Way {
        name: words.word("way", direction).to_owned(),
        up: direction != Direction::External,
        before: ends(visit, words, side, Phase::Baseline, direction),
        after: ends(visit, words, side, Phase::Retest, direction),
        limit_deg: visit.verdict(side, Some(direction)).and_then(|verdict| verdict.mdc95_deg),
    };
    Leg {
        name: words.word("leg", side).to_owned(),
        ways: visit.test().directions().iter().map(way).collect(),
    }
}

fn ends(
    visit: &Gathered,
    words: &Words,
    side: Side,
    phase: Phase,
    direction: Direction,
) -> Option<Ends> {
    let mean = visit.mean(side, phase, Some(direction))?;
    let own = visit
        .counting
        .iter()
        .filter(|one| (one.side, one.phase, one.direction) == (side, phase, direction));
    Some(Ends {
        mean_deg: mean.mean_deg,
        label: words.angle(mean.mean_deg),
        half95_deg: mean.half95_deg,
        each_deg: own.map(|one| one.end_range_deg).collect(),
    })
}

fn alternative(words: &Words, legs: &[Leg]) -> String {
    let label = |ends: &Option<Ends>| {
        ends.as_ref().map_or_else(|| words.get("nothing"), |e| &e.label).to_owned()
    };
    let one = |leg: &Leg, way: &Way| {
        let places = [
            ("leg", leg.name.as_str()),
            ("way", way.name.as_str()),
            ("before", &label(&way.before)),
            ("after", &label(&way.after)),
        ];
        words.fill("gauge.alternative.one", &places)
    };
    let all = legs.iter().flat_map(|leg| leg.ways.iter().map(move |way| one(leg, way)));
    all.collect::<Vec<_>>().join("; ")
}

/// The table.
pub(super) fn table(visit: &Gathered, words: &Words) -> Table {
    let head = ["what", "before", "after", "change", "interval", "limit"];
    let head = head.map(|key| words.word("table", key).to_owned()).into();
    let mut rows = Vec::new();
    for side in visit.sides() {
        for direction in visit.directions() {
            rows.push(row(visit, words, side, direction));
        }
    }
    Table { head, rows }
}

fn row(visit: &Gathered, words: &Words, side: Side, way: Option<Direction>) -> Vec<String> {
    let nothing = || words.get("nothing").to_owned();
    let verdict = visit.verdict(side, way);
    let of = |phase| visit.mean(side, phase, way).map_or_else(nothing, |one| mean(words, one));
    let change = verdict.and_then(|one| one.change_deg);
    let interval = verdict.and_then(|one| one.ci95_deg).map(|[low, high]| {
        let places = [("low", &*words.change(low)), ("high", &*words.change(high))];
        words.fill("table.range", &places)
    });
    let limit = verdict.and_then(|one| one.mdc95_deg.filter(|_| one.change_deg.is_some()));
    vec![
        phrases::what(words, side, way),
        of(Phase::Baseline),
        of(Phase::Retest),
        change.map_or_else(nothing, |change| words.change(change)),
        interval.unwrap_or_else(nothing),
        limit.map_or_else(nothing, |limit| format!("±{}", words.angle(limit))),
    ]
}

fn mean(words: &Words, mean: &PhaseMean) -> String {
    let (value, count) = (words.angle(mean.mean_deg), mean.count.to_string());
    match mean.half95_deg {
        Some(half) => words.fill(
            "table.mean",
            &[("mean", &value), ("half", &words.angle(half)), ("count", &count)],
        ),
        None => words.fill("table.mean-alone", &[("mean", &value), ("count", &count)]),
    }
}
