//! Repetitions, and what changed between baseline and retest.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::{About, Column, DIRECTION, Kind, REPETITION, SIDE, Table, VISIT, table, words};
use super::{refers_to_visits, values};
use crate::export::{Disguise, Leaving, moment};
use crate::finalise::NOT_FOUND_AGAIN;
use crate::store::records::RepetitionRecord;
use crate::store::rows::{RepetitionValue, Verdict};
use crate::store::words::{EndCriterion, Finding, ValueKind};

/// One repetition with the value to report.
struct Row {
    visit: Leaving,
    repetition: RepetitionRecord,
    value: RepetitionValue,
}

/// One long table: a row per repetition.
#[must_use]
pub fn repetitions(visits: &[Leaving], disguise: &Disguise) -> Table {
    let rows = visits.iter().flat_map(|visit| {
        visit.repetitions().filter_map(|repetition| {
            let value = repetition.value()?.clone();
            Some(Row { visit: visit.clone(), repetition: repetition.clone(), value })
        })
    });
    let mut columns = identity(disguise);
    columns.extend(values::columns(|row: &Row| &row.value));
    columns.push(Column::number(
        "live_end_range_deg",
        "deg",
        "The end range as it was told at the table; empty where only the analysis of the whole \
         visit found it",
        |row: &Row| row.repetition.live.as_ref().map(|live| live.end_range_deg).into(),
    ));
    let about = About {
        name: "repetitions",
        about: "One row for each repetition, with the value to report: the newest final one, or the \
                live one where its leg has no final values",
        key: REPETITION,
        refers: vec![refers_to_visits()],
    };
    table(about, disguise, columns, rows)
}

fn identity(disguise: &Disguise) -> Vec<Column<Row>> {
    let disguise = disguise.clone();
    vec![
        Column::text("person", "The person's code", |row: &Row| row.visit.person.as_str().into())
            .required(),
        Column::text("visit", VISIT, |row: &Row| row.visit.code.as_str().into()).required(),
        Column::new(
            "test",
            words(TestKind::ALL, TestKind::as_str),
            "What was measured",
            |row: &Row| row.visit.record.summary.test.as_str().into(),
        )
        .required(),
        Column::new("side", words(Side::ALL, Side::as_str), SIDE, |row: &Row| {
            row.repetition.side.as_str().into()
        })
        .required(),
        Column::new("phase", words(Phase::ALL, Phase::as_str), "When in the visit", |row: &Row| {
            row.repetition.phase.as_str().into()
        })
        .required(),
        Column::new(
            "direction",
            words(Direction::ALL, Direction::as_str),
            DIRECTION,
            |row: &Row| row.repetition.direction.as_str().into(),
        )
        .required(),
        Column::new(
            "repetition",
            Kind::Integer(1),
            "Its number within visit, side, phase and direction",
            |row: &Row| row.repetition.number.into(),
        )
        .required(),
        Column::new(
            "counts",
            Kind::Boolean,
            "Whether it counts; false where it was struck out, by a person or because the analysis \
             of the whole visit does not find it",
            |row: &Row| row.repetition.struck_out.is_none().into(),
        )
        .required(),
        Column::new("found_again", Kind::Boolean, FOUND_AGAIN, |row: &Row| {
            (row.repetition.struck_out.as_deref() != Some(NOT_FOUND_AGAIN)).into()
        })
        .required(),
        Column::text("struck_out", "Why it does not count", |row: &Row| {
            row.repetition.struck_out.clone().into()
        })
        .typed(),
        Column::text("rater", "Who moved the limb, if told: a code", move |row: &Row| {
            row.repetition.rater.as_ref().map(|code| disguise.rater(code.as_str())).into()
        }),
        Column::new(
            "end_criterion",
            words(EndCriterion::ALL, EndCriterion::as_str),
            "What ended it, if chosen",
            |row: &Row| row.repetition.end_criterion.map(EndCriterion::as_str).into(),
        ),
    ]
}

const FOUND_AGAIN: &str =
    "False where it was captured live, but the analysis of the whole visit does not find it";

/// The kinds of values, as words.
pub(super) fn kinds() -> Kind {
    words(ValueKind::ALL, ValueKind::as_str)
}

/// A row per comparison of baseline and retest.
#[must_use]
pub fn comparisons(visits: &[Leaving], disguise: &Disguise) -> Table {
    let rows = visits.iter().flat_map(|visit| {
        visit.record.verdicts.iter().map(|verdict| (visit.clone(), verdict.clone()))
    });
    let about = About {
        name: "comparisons",
        about: "One row for each leg and direction that was compared before against after, by one \
                version of the algorithm. They document; they are no findings",
        key: &["visit", "side", "direction", "algorithm_version"],
        refers: vec![refers_to_visits()],
    };
    let mut columns = compared(disguise);
    columns.extend(changes());
    table(about, disguise, columns, rows)
}

type Compared = (Leaving, Verdict);

fn compared(disguise: &Disguise) -> Vec<Column<Compared>> {
    let disguise = disguise.clone();
    vec![
        Column::text("visit", VISIT, |row: &Compared| row.0.code.as_str().into()).required(),
        Column::new("side", words(Side::ALL, Side::as_str), SIDE, |row: &Compared| {
            row.1.side.as_str().into()
        })
        .required(),
        Column::new(
            "direction",
            Kind::Word(vec!["internal", "external", "flexion", "total"]),
            "Which way; total is internal and external together, which a tilt of the table leaves \
             as it is",
            |row: &Compared| row.1.direction.map_or("total", Direction::as_str).into(),
        )
        .required(),
        Column::text("algorithm_version", "The algorithm that computed it", |row: &Compared| {
            row.1.algorithm_version.as_str().into()
        })
        .required(),
        Column::new("computed_at", Kind::Time, "When it was computed, UTC", {
            move |row: &Compared| {
                moment::utc(disguise.moment(row.0.inside(), row.1.computed_at)).into()
            }
        })
        .required(),
    ]
}

fn changes() -> Vec<Column<Compared>> {
    let count = |name, about, get: fn(&Verdict) -> u32| {
        Column::new(name, Kind::Integer(0), about, move |row: &Compared| get(&row.1).into())
            .required()
    };
    let degrees = |name, about, get: fn(&Verdict) -> Option<f64>| {
        Column::number(name, "deg", about, move |row: &Compared| get(&row.1).into())
    };
    vec![
        count("baseline_count", "Baseline repetitions it rests on", |verdict| {
            verdict.baseline_count
        }),
        count("retest_count", "Retest repetitions it rests on", |verdict| verdict.retest_count),
        degrees("baseline_mean_deg", "Mean end range before", |verdict| verdict.baseline_mean_deg),
        degrees("retest_mean_deg", "Mean end range after", |verdict| verdict.retest_mean_deg),
        degrees("change_deg", "After minus before", |verdict| verdict.change_deg),
        degrees("ci95_low_deg", "Lower end of the change's 95 % interval", |verdict| {
            verdict.ci95_deg.map(|[low, _]| low)
        }),
        degrees("ci95_high_deg", "Upper end of the change's 95 % interval", |verdict| {
            verdict.ci95_deg.map(|[_, high]| high)
        }),
        degrees("mdc95_deg", "The limit that a change must exceed", |verdict| verdict.mdc95_deg),
        Column::text("mdc95_source", "Where that limit comes from", |row: &Compared| {
            row.1.mdc95_source.as_str().into()
        }),
        Column::new(
            "finding",
            words(Finding::ALL, Finding::as_str),
            "What can be said of the change",
            |row: &Compared| row.1.finding.as_str().into(),
        )
        .required(),
        Column::text("statement", "The same in a sentence", |row: &Compared| {
            row.1.statement.as_str().into()
        }),
    ]
}
