//! All values of repetitions: what each version of the algorithm made of them.

use endarc_protocol::words::{Direction, Phase, Side};

use super::measured::kinds;
use super::{About, Column, DIRECTION, Kind, REPETITION, Refers, SIDE, Table, VISIT, table, words};
use crate::export::{Disguise, Leaving, moment};
use crate::store::records::RepetitionRecord;
use crate::store::rows::RepetitionValue;

/// One value of one repetition.
struct Row {
    visit: Leaving,
    repetition: RepetitionRecord,
    value: RepetitionValue,
}

/// A row per value: the live one, and a final one of each version of the algorithm.
#[must_use]
pub fn values(visits: &[Leaving], disguise: &Disguise) -> Table {
    let rows = visits.iter().flat_map(|visit| {
        visit.repetitions().flat_map(move |repetition| {
            let all = repetition.live.iter().chain(&repetition.finals);
            all.map(move |value| Row {
                visit: visit.clone(),
                repetition: repetition.clone(),
                value: value.clone(),
            })
        })
    });
    let mut columns = identity();
    columns.extend(self::columns(|row: &Row| &row.value));
    let disguise_of = disguise.clone();
    columns.push(
        Column::new("computed_at", Kind::Time, "When it was computed, UTC", move |row: &Row| {
            let computed_at = disguise_of.moment(row.visit.inside(), row.value.computed_at);
            moment::utc(computed_at).into()
        })
        .required(),
    );
    let about = About {
        name: "values",
        about: "One row for each value of each repetition: as it was told at the table (live), and \
                as each version of the algorithm made it of the whole visit (final)",
        key: &["visit", "side", "phase", "direction", "repetition", "value", "algorithm_version"],
        refers: vec![Refers { columns: REPETITION, table: "repetitions" }],
    };
    table(about, disguise, columns, rows)
}

fn identity() -> Vec<Column<Row>> {
    vec![
        Column::text("visit", VISIT, |row: &Row| row.visit.code.as_str().into()).required(),
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
        Column::new("repetition", Kind::Integer(1), "Its number there", |row: &Row| {
            row.repetition.number.into()
        })
        .required(),
    ]
}

/// The columns of a value, of whatever rows have one.
pub(super) fn columns<R: 'static>(value: fn(&R) -> &RepetitionValue) -> Vec<Column<R>> {
    vec![
        Column::new(
            "value",
            kinds(),
            "How it was computed: while it happened (live) or from the whole visit (final)",
            move |row: &R| value(row).kind.as_str().into(),
        )
        .required(),
        Column::text("algorithm_version", "The algorithm that computed it", move |row: &R| {
            value(row).algorithm_version.as_str().into()
        })
        .required(),
        Column::number("end_range_deg", "deg", "End range along the direction", move |row: &R| {
            value(row).end_range_deg.into()
        })
        .required(),
        Column::number(
            "uncertainty_deg",
            "deg",
            "One standard uncertainty of it: the instrument's, not the method's",
            move |row: &R| value(row).uncertainty_deg.into(),
        )
        .required(),
        Column::number("start_s", "s", "When the movement began, visit time", move |row: &R| {
            value(row).start_s.into()
        })
        .required(),
        Column::number(
            "end_range_at_s",
            "s",
            "When the end range was reached, visit time",
            move |row: &R| value(row).end_range_at_s.into(),
        )
        .required(),
        Column::number("hold_s", "s", "Time spent at the end range", move |row: &R| {
            value(row).hold_s.into()
        })
        .required(),
        Column::number("knee_flexion_deg", "deg", "Knee flexion there", move |row: &R| {
            value(row).knee_flexion_deg.into()
        }),
        Column::number(
            "pelvis_roll_deg",
            "deg",
            "Roll of the pelvis there, positive the way the shank moved; taken out of the end range; \
             empty where no sensor saw it",
            move |row: &R| value(row).pelvis_roll_deg.into(),
        ),
        Column::number(
            "barrier_start_deg",
            "deg",
            "Where the limb stood when a contraction on the way began; empty without one",
            move |row: &R| value(row).barriers.map(|barriers| barriers.start_deg).into(),
        ),
        Column::number(
            "barrier_end_deg",
            "deg",
            "Where it stood when the lengthening after it ended",
            move |row: &R| value(row).barriers.map(|barriers| barriers.end_deg).into(),
        ),
        Column::text("flags", FLAGS, move |row: &R| value(row).flags.join(";").into()),
    ]
}

const FLAGS: &str = "What a reader should know, words joined by semicolons: touched (no hold), \
     knee-away-from-90, fast, pelvis-moved, pelvis-not-seen, pelvis-did-not-tilt, strap-moved, gap \
     (samples missing), saturated, quick-alignment";
