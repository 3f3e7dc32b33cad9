//! Persons and their visits.

use std::collections::BTreeMap;

use endarc_protocol::words::{Direction, Side, TestKind};

use super::{About, Cell, Column, Kind, Refers, Table, VISIT, table, words};
use crate::export::{Disguise, Leaving};
use crate::store::words::{EndCriterion, Source, VisitState};

/// A row per person.
#[must_use]
pub fn persons(visits: &[Leaving], disguise: &Disguise) -> Table {
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    for visit in visits {
        *counts.entry(visit.person.clone()).or_default() += 1;
    }
    let columns: Vec<Column<(String, u32)>> = vec![
        Column::text("person", "The person's code", |row: &(String, u32)| row.0.as_str().into())
            .required(),
        Column::new("visits", Kind::Integer(1), "Visits in this export", |row: &(String, u32)| {
            row.1.into()
        })
        .required(),
    ];
    let about = About {
        name: "persons",
        about: "One row for each person",
        key: &["person"],
        refers: Vec::new(),
    };
    table(about, disguise, columns, counts.into_iter())
}

/// A row per visit.
#[must_use]
pub fn visits(visits: &[Leaving], disguise: &Disguise) -> Table {
    let about = About {
        name: "visits",
        about: "One row for each visit",
        key: &["visit"],
        refers: vec![Refers { columns: &["person"], table: "persons" }],
    };
    let mut columns = identity(disguise);
    columns.extend(conditions());
    table(about, disguise, columns, visits.iter().cloned())
}

type Visit = Leaving;

fn identity(disguise: &Disguise) -> Vec<Column<Visit>> {
    let (began, ended) = (disguise.clone(), disguise.clone());
    vec![
        Column::text("visit", VISIT, |visit: &Visit| visit.code.as_str().into()).required(),
        Column::text("person", "The person's code", |visit: &Visit| visit.person.as_str().into())
            .required(),
        Column::new(
            "number",
            Kind::Integer(1),
            "Which of the person's visits here, by time",
            |v: &Visit| v.number.into(),
        )
        .required(),
        Column::new(
            "test",
            words(TestKind::ALL, TestKind::as_str),
            "What was measured",
            |visit: &Visit| visit.record.summary.test.as_str().into(),
        )
        .required(),
        Column::new(
            "source",
            words(Source::ALL, Source::as_str),
            "Where the samples came from: sensors (ble), the simulator (sim), a recording (replay)",
            |visit: &Visit| visit.record.summary.source.as_str().into(),
        )
        .required(),
        Column::new(
            "state",
            words(VisitState::ALL, VisitState::as_str),
            "How it ended: closed in order, interrupted (power or program went away), truncated \
             (the disk was full)",
            |visit: &Visit| visit.record.summary.state.as_str().into(),
        )
        .required(),
        Column::new("started_at", Kind::Time, "When it began, local time with its offset", {
            move |visit: &Visit| began.time(visit.inside(), &visit.record.summary.started).into()
        })
        .required(),
        Column::new("ended_at", Kind::Time, "When it ended", move |visit: &Visit| {
            visit.record.summary.ended().map(|time| ended.time(visit.inside(), &time)).into()
        }),
        Column::number("duration_s", "s", "How long it lasted", |visit: &Visit| {
            visit.record.summary.duration_s().into()
        }),
    ]
}

fn conditions() -> Vec<Column<Visit>> {
    let level = |visit: &Visit, what: fn(&endarc_analysis::levelling::TableLevel) -> f64| -> Cell {
        visit.record.table.as_ref().map(|table| what(&table.level).to_degrees()).into()
    };
    vec![
        Column::number(
            "table_tilt_deg",
            "deg",
            "Sideways tilt of the treatment table that was taken out of the angles, positive where \
             the left side of a prone person is higher; empty where none was known",
            |visit: &Visit| {
                let told = visit.record.table_tilt_deg;
                let measured = visit.record.table.as_ref();
                measured.map(|table| table.level.sideways_rad.to_degrees()).or(told).into()
            },
        ),
        Column::number(
            "table_tilt_sd_deg",
            "deg",
            "One standard uncertainty of it; empty where it was told as a number",
            move |visit: &Visit| level(visit, |level| level.sideways_sd_rad),
        ),
        Column::number(
            "table_head_tilt_deg",
            "deg",
            "Lengthwise tilt of the table, positive where the head end is higher",
            move |visit: &Visit| level(visit, |level| level.head_foot_rad),
        ),
        Column::number(
            "table_head_tilt_sd_deg",
            "deg",
            "One standard uncertainty of it",
            move |visit: &Visit| level(visit, |level| level.head_foot_sd_rad),
        ),
        Column::new(
            "primary_side",
            words(Side::ALL, Side::as_str),
            "The leg the treatment was meant for, if it was named beforehand",
            |visit: &Visit| visit.record.primary.map(|(side, _)| side.as_str()).into(),
        ),
        Column::new(
            "primary_direction",
            words(Direction::ALL, Direction::as_str),
            "The direction the treatment was meant for, if it was named beforehand",
            |visit: &Visit| visit.record.primary.map(|(_, direction)| direction.as_str()).into(),
        ),
        Column::new(
            "end_criterion",
            words(EndCriterion::ALL, EndCriterion::as_str),
            "What ended a repetition, if it was chosen",
            |visit: &Visit| visit.record.end_criterion.map(EndCriterion::as_str).into(),
        ),
        Column::text(
            "program_version",
            "The version of the program that recorded it",
            |visit: &Visit| visit.record.program_version.as_str().into(),
        )
        .required(),
        Column::text("notes", "Free text", |visit: &Visit| visit.record.notes.clone().into())
            .typed(),
    ]
}
