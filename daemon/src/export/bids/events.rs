//! What happened in a visit, and what its repetitions came to.

use endarc_protocol::words::{Direction, Phase, Side};
use serde_json::{Map, Value, json};

use super::json_file;
use super::names;
use super::tsv::{self, ABSENT, cell};
use crate::export::{Disguise, ExportError, Folder, Leaving};
use crate::store::records::RepetitionRecord;
use crate::store::words::EndCriterion;

const HEADER: [&str; 12] = [
    "onset",
    "duration",
    "trial_type",
    "side",
    "phase",
    "direction",
    "repetition",
    "end_range",
    "uncertainty",
    "end_range_at",
    "counts",
    "algorithm_version",
];

/// A row of events.
struct Event {
    onset_s: f64,
    cells: Vec<String>,
}

/// Writes a visit's events: its spans, marks and repetitions, by time.
pub(super) fn write(folder: &Folder, visit: &Leaving) -> Result<(), ExportError> {
    let mut events: Vec<Event> = spans(visit).chain(marks(visit)).collect();
    events.extend(visit.repetitions().filter_map(repetition));
    events.sort_by(|a, b| a.onset_s.total_cmp(&b.onset_s));
    let rows: Vec<Vec<String>> = events.into_iter().map(|event| event.cells).collect();
    let name = names::of_visit(visit);
    tsv::write(folder, &format!("{name}_events.tsv"), &HEADER, &rows)?;
    json_file(folder, &format!("{name}_events.json"), &description())
}

/// An event with nothing but when and what.
fn event(onset_s: f64, duration_s: f64, trial_type: &str, side: Option<Side>) -> Event {
    let mut cells = vec![onset_s.to_string(), duration_s.to_string(), trial_type.to_owned()];
    cells.push(cell(side));
    cells.resize(HEADER.len(), ABSENT.to_owned());
    Event { onset_s, cells }
}

fn spans(visit: &Leaving) -> impl Iterator<Item = Event> {
    visit.record.spans.iter().map(|span| {
        let duration_s = (span.end_s.unwrap_or(span.start_s) - span.start_s).max(0.0);
        event(span.start_s, duration_s, span.trial_type.as_str(), span.side)
    })
}

fn marks(visit: &Leaving) -> impl Iterator<Item = Event> {
    visit.record.marks.iter().map(|mark| event(mark.at_s, 0.0, &mark.kind, None))
}

fn repetition(record: &RepetitionRecord) -> Option<Event> {
    let value = record.value()?;
    let duration_s = value.end_range_at_s + value.hold_s - value.start_s;
    let cells = vec![
        value.start_s.to_string(),
        duration_s.max(0.0).to_string(),
        "repetition".to_owned(),
        record.side.to_string(),
        record.phase.to_string(),
        record.direction.to_string(),
        record.number.to_string(),
        value.end_range_deg.to_string(),
        value.uncertainty_deg.to_string(),
        value.end_range_at_s.to_string(),
        record.struck_out.is_none().to_string(),
        value.algorithm_version.clone(),
    ];
    Some(Event { onset_s: value.start_s, cells })
}

fn description() -> Value {
    json!({
        "onset": { "Description": "When it began, from the visit's time zero, which the latencies of all its sensors share", "Units": "s" },
        "trial_type": {
            "Description": "What the row marks",
            "Levels": {
                "neutral": "a still hold with the shank about vertical",
                "align-knee": "knee bends that show how the sensor sits on the shank",
                "baseline": "repetitions before treatment",
                "treatment": "treatment",
                "retest": "repetitions after treatment",
                "repetition": "one movement out to its end range, and the hold there",
                "mark": "a moment that was marked",
                "next": "a key or pedal that went on to the next step",
                "undo": "a key or pedal that took back the last repetition",
            },
        },
        "side": { "Description": "The leg it concerns: the person's own left or right; n/a for both" },
        "phase": { "Description": "The phase of a repetition" },
        "direction": { "Description": "The direction of a repetition: internal (prone: foot outward) or external (prone: foot inward) hip rotation, or knee flexion" },
        "repetition": { "Description": "Its number within visit, side, phase and direction, from 1" },
        "end_range": { "Description": "Its end range along its direction", "Units": "deg" },
        "uncertainty": { "Description": "One standard uncertainty of the end range: the instrument's, not the method's", "Units": "deg" },
        "end_range_at": { "Description": "When the end range was reached", "Units": "s" },
        "counts": { "Description": "Whether it counts; false where it was struck out" },
        "algorithm_version": { "Description": "The version of the algorithm that computed it" },
    })
}

/// One column of means: a leg, a phase and a direction.
type Cohort = (Side, Phase, Direction);

/// The means that any of the visits has.
fn cohorts(visits: &[Leaving]) -> Vec<Cohort> {
    let mut all: Vec<Cohort> = visits
        .iter()
        .flat_map(Leaving::repetitions)
        .map(|one| (one.side, one.phase, one.direction))
        .collect();
    all.sort();
    all.dedup();
    all
}

/// Writes a person's visits with their conditions and means.
pub(super) fn write_sessions(
    folder: &Folder,
    person: &str,
    sessions: &[&Leaving],
    visits: &[Leaving],
    disguise: &Disguise,
) -> Result<(), ExportError> {
    let cohorts = cohorts(visits);
    let mut header: Vec<String> = CONDITIONS.iter().map(|(name, _)| (*name).to_owned()).collect();
    let mut about: Map<String, Value> = CONDITIONS
        .iter()
        .skip(1)
        .map(|(name, about)| ((*name).to_owned(), json!({ "Description": about })))
        .collect();
    for (side, phase, direction) in &cohorts {
        for (what, text) in [
            ("n", "Number of repetitions that count"),
            ("mean", "Mean end range in degrees"),
            ("sd", "Sample standard deviation of the end range in degrees"),
        ] {
            let name = format!("{side}_{phase}_{direction}_{what}");
            let text = format!("{text}: {direction}, {side} leg, {phase}");
            about.insert(name.clone(), json!({ "Description": text }));
            header.push(name);
        }
    }
    let row = |visit: &&Leaving| {
        let mut row = conditions(visit, disguise);
        row.extend(cohorts.iter().flat_map(|cohort| means(visit, *cohort)));
        row
    };
    let rows: Vec<Vec<String>> = sessions.iter().map(row).collect();
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    let subject = names::subject(person);
    tsv::write(folder, &format!("{subject}/{subject}_sessions.tsv"), &header, &rows)?;
    json_file(folder, &format!("{subject}/{subject}_sessions.json"), &Value::Object(about))
}

/// Columns of a visit before its means.
const CONDITIONS: [(&str, &str); 11] = [
    ("session_id", ""),
    (
        "acq_time",
        "When the visit began, UTC; moved by whole days where the export's maker asked for it",
    ),
    ("utc_offset_s", "Local time minus UTC then, in seconds"),
    ("test", "What was measured"),
    (
        "table_tilt",
        "Sideways tilt of the treatment table in degrees, positive where the left side of a prone person is higher",
    ),
    (
        "table_tilt_sd",
        "One standard uncertainty of it in degrees; n/a where it was told as a number",
    ),
    (
        "table_head_tilt",
        "Lengthwise tilt of the table in degrees, positive where the head end is higher",
    ),
    ("table_head_tilt_sd", "One standard uncertainty of it in degrees"),
    ("primary_side", "The leg the treatment was meant for, if it was named beforehand"),
    ("primary_direction", "The direction the treatment was meant for, if it was named beforehand"),
    ("end_criterion", "What ended a repetition, if it was chosen"),
];

fn conditions(visit: &Leaving, disguise: &Disguise) -> Vec<String> {
    let record = &visit.record;
    let started = &record.summary.started;
    let utc = disguise.moment(visit.inside(), started.utc);
    let level = record.table.as_ref().map(|table| table.level);
    let sideways = level.map(|level| level.sideways_rad.to_degrees()).or(record.table_tilt_deg);
    vec![
        names::session(visit),
        utc.strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        started.offset_s.to_string(),
        record.summary.test.to_string(),
        cell(sideways),
        cell(level.map(|level| level.sideways_sd_rad.to_degrees())),
        cell(level.map(|level| level.head_foot_rad.to_degrees())),
        cell(level.map(|level| level.head_foot_sd_rad.to_degrees())),
        cell(record.primary.map(|(side, _)| side)),
        cell(record.primary.map(|(_, direction)| direction)),
        cell(record.end_criterion.map(EndCriterion::as_str)),
    ]
}

/// Number, mean and sample standard deviation of those that count.
fn means(visit: &Leaving, (side, phase, direction): Cohort) -> [String; 3] {
    let same = |one: &&RepetitionRecord| {
        (one.side, one.phase, one.direction) == (side, phase, direction) && one.struck_out.is_none()
    };
    let values: Vec<f64> = visit
        .repetitions()
        .filter(same)
        .filter_map(|one| Some(one.value()?.end_range_deg))
        .collect();
    let count = values.len() as f64;
    let mean = (count > 0.0).then(|| values.iter().sum::<f64>() / count);
    let squares = |mean: f64| values.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
    let sd = mean.filter(|_| count > 1.0).map(|mean| (squares(mean) / (count - 1.0)).sqrt());
    [values.len().to_string(), cell(mean), cell(sd)]
}
