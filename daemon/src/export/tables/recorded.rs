//! What was recorded: spans, sensors, gaps and marks.

use endarc_protocol::words::{SensorRole, Side, TrialType};

use super::{About, Cell, Column, Kind, Table, VISIT, refers_to_visits, table, words};
use crate::export::{Disguise, Leaving};
use crate::store::records::{Span, VisitSensor};
use crate::store::rows::{Gap, Mark};
use crate::store::words::GapCause;

/// A row per stretch of a visit.
#[must_use]
pub fn spans(visits: &[Leaving], disguise: &Disguise) -> Table {
    type Row = (String, Span);
    let rows = visits
        .iter()
        .flat_map(|visit| visit.record.spans.iter().map(|span| (visit.code.clone(), *span)));
    let columns: Vec<Column<Row>> = vec![
        Column::text("visit", VISIT, |row: &Row| row.0.as_str().into()).required(),
        Column::number("onset_s", "s", "When it began, visit time", |row: &Row| {
            row.1.start_s.into()
        })
        .required(),
        Column::number("duration_s", "s", "How long it lasted", |row: &Row| {
            row.1.end_s.map(|end_s| end_s - row.1.start_s).into()
        }),
        Column::new(
            "trial_type",
            words(TrialType::ALL, TrialType::as_str),
            "What it was: a still hold (neutral), knee bends that show how the sensor sits, or a \
             phase of the visit",
            |row: &Row| row.1.trial_type.as_str().into(),
        )
        .required(),
        Column::new(
            "side",
            words(Side::ALL, Side::as_str),
            "The leg it concerned; empty for both",
            |row: &Row| row.1.side.map(Side::as_str).into(),
        ),
    ];
    let about = About {
        name: "spans",
        about: "One row for each stretch of a visit",
        key: &[],
        refers: vec![refers_to_visits()],
    };
    table(about, disguise, columns, rows)
}

/// A row per sensor of a visit.
#[must_use]
pub fn sensors(visits: &[Leaving], disguise: &Disguise) -> Table {
    let rows = visits.iter().flat_map(|visit| {
        visit.record.sensors.iter().map(|sensor| (visit.clone(), sensor.clone()))
    });
    let about = About {
        name: "sensors",
        about: "One row for each sensor of a visit",
        key: &["visit", "role", "strap_epoch"],
        refers: vec![refers_to_visits()],
    };
    table(about, disguise, sensor_columns(disguise), rows)
}

type Worn = (Leaving, VisitSensor);

fn sensor_columns(disguise: &Disguise) -> Vec<Column<Worn>> {
    let (address, calibrated) = (disguise.clone(), disguise.clone());
    vec![
        Column::text("visit", VISIT, |row: &Worn| row.0.code.as_str().into()).required(),
        Column::new(
            "role",
            words(SensorRole::ALL, SensorRole::as_str),
            "Where it was worn",
            |row: &Worn| row.1.role.as_str().into(),
        )
        .required(),
        Column::new(
            "strap_epoch",
            Kind::Integer(0),
            "Counts up each time a sensor is strapped on anew",
            |row: &Worn| row.1.strap_epoch.into(),
        )
        .required(),
        Column::text("sensor", "Which device: a code", move |row: &Worn| {
            address.sensor(&row.1.address).into()
        })
        .required(),
        Column::number("from_s", "s", "Since when, visit time", |row: &Worn| row.1.from_s.into())
            .required(),
        Column::new(
            "calibration",
            Kind::Object,
            "The sensor's own errors, as its calibration found them: what raw samples are corrected \
             with before they are analysed. Empty for a sensor that was never calibrated",
            move |row: &Worn| calibration(row, &calibrated),
        ),
    ]
}

/// A calibration as it leaves: under the sensor's code and with its date moved.
fn calibration((visit, sensor): &Worn, disguise: &Disguise) -> Cell {
    let Some(mut calibration) = sensor.calibration.clone() else { return Cell::Empty };
    calibration.sensor = disguise.sensor(&sensor.address);
    calibration.calibrated_at = disguise.moment(visit.inside(), calibration.calibrated_at);
    // Plain numbers and texts: nothing in it can fail to be written.
    serde_json::to_string(&calibration).ok().into()
}

/// A row per stretch without samples.
#[must_use]
pub fn gaps(visits: &[Leaving], disguise: &Disguise) -> Table {
    type Row = (String, Gap);
    let rows = visits
        .iter()
        .flat_map(|visit| visit.record.gaps.iter().map(|gap| (visit.code.clone(), *gap)));
    let columns: Vec<Column<Row>> = vec![
        Column::text("visit", VISIT, |row: &Row| row.0.as_str().into()).required(),
        Column::new(
            "role",
            words(SensorRole::ALL, SensorRole::as_str),
            "Where the sensor was worn",
            |row: &Row| row.1.role.as_str().into(),
        )
        .required(),
        Column::number("from_s", "s", "Last sample before", |row: &Row| row.1.from_s.into())
            .required(),
        Column::number("to_s", "s", "First sample after", |row: &Row| row.1.to_s.into()).required(),
        Column::new("lost", Kind::Integer(0), "Samples lost, as far as known", |row: &Row| {
            row.1.lost.into()
        })
        .required(),
        Column::new("cause", words(GapCause::ALL, GapCause::as_str), "Why", |row: &Row| {
            row.1.cause.as_str().into()
        })
        .required(),
    ];
    let about = About {
        name: "gaps",
        about: "One row for each stretch without samples",
        key: &[],
        refers: vec![refers_to_visits()],
    };
    table(about, disguise, columns, rows)
}

/// A row per marked moment.
#[must_use]
pub fn marks(visits: &[Leaving], disguise: &Disguise) -> Table {
    type Row = (String, Mark);
    let rows = visits
        .iter()
        .flat_map(|visit| visit.record.marks.iter().map(|mark| (visit.code.clone(), mark.clone())));
    let columns: Vec<Column<Row>> = vec![
        Column::text("visit", VISIT, |row: &Row| row.0.as_str().into()).required(),
        Column::number("at_s", "s", "When, visit time", |row: &Row| row.1.at_s.into()).required(),
        Column::text("kind", "What was pressed or heard", |row: &Row| row.1.kind.as_str().into())
            .required(),
        Column::text("note", "Free text", |row: &Row| row.1.note.clone().into()).typed(),
    ];
    let about = About {
        name: "marks",
        about: "One row for each moment that somebody marked",
        key: &[],
        refers: vec![refers_to_visits()],
    };
    table(about, disguise, columns, rows)
}
