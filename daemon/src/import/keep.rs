//! A recording that came in, stored as a visit.

use endarc_protocol::words::TestKind;

use super::{ImportError, Recording, Sensor, Tilt};
use crate::clock;
use crate::pipeline::rows::STRAP_EPOCH;
use crate::store::chunk::Readings;
use crate::store::rows::{Mark, NewSpan, NewVisit, RawChunk, StrappedSensor};
use crate::store::words::{Source, VisitState};
use crate::store::{
    Code, NewCalibration, NewTableLevel, VisitId, WallTime, Write, WriteError, WriterHandle,
};

/// Samples in one chunk: about a minute.
const CHUNK_SAMPLES: usize = 6000;

/// The profile of samples that came in as values.
const PROFILE: &str = "imported";

/// Whether a recording can be kept: it has a shank sensor with samples.
///
/// # Errors
/// [`ImportError::NoShank`].
pub(super) fn check(recording: &Recording) -> Result<(), ImportError> {
    let measured = |sensor: &Sensor| sensor.role.side().is_some() && !sensor.samples.is_empty();
    match recording.sensors.iter().any(measured) {
        true => Ok(()),
        false => Err(ImportError::NoShank(recording.name.clone())),
    }
}

/// Stores a recording as a closed visit without repetitions: the analysis of the whole visit finds
/// them.
///
/// # Errors
/// [`WriteError`].
pub async fn keep(
    writer: &WriterHandle,
    recording: Recording,
    person: Code,
    test: TestKind,
) -> Result<VisitId, WriteError> {
    let ended_s = last_s(&recording);
    let new = NewVisit {
        person,
        test,
        source: Source::Replay,
        started: recording.started.clone().unwrap_or_else(|| WallTime::from(&clock::wall())),
        started_s: first_s(&recording),
        table_tilt_deg: match recording.tilt {
            Tilt::Degrees(tilt_deg) => Some(tilt_deg),
            Tilt::Unknown | Tilt::Level(_) => None,
        },
        primary: recording.primary,
        end_criterion: recording.end_criterion,
        notes: None,
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
    };
    let visit = writer.begin_visit(new).await?;
    if let Tilt::Level(level) = recording.tilt {
        let table = format!("imported {visit}");
        let levelled_at = clock::wall().timestamp();
        writer
            .send(Write::TableLevel(NewTableLevel { table: table.clone(), levelled_at, level }))
            .await?;
        writer.send(Write::UseTable { visit, table: Some(table) }).await?;
    }
    for sensor in recording.sensors {
        strap(writer, visit, sensor).await?;
    }
    for (at_s, kind) in recording.marks {
        writer.send(Write::Mark(Mark { visit, at_s, kind, note: None })).await?;
    }
    for event in recording.spans {
        let (trial_type, side, start_s) = (event.trial_type, event.side, event.onset_s);
        let span = writer.begin_span(NewSpan { visit, trial_type, side, start_s }).await?;
        writer.send(Write::EndSpan { span, end_s: event.end_s() }).await?;
    }
    // Saved, not sent: everything before it is on disk then too.
    writer.save(Write::EndVisit { visit, state: VisitState::Closed, ended_s }).await?;
    Ok(visit)
}

/// Stores a sensor with its calibration and samples.
async fn strap(writer: &WriterHandle, visit: VisitId, sensor: Sensor) -> Result<(), WriteError> {
    let Sensor { role, label, samples, calibration } = sensor;
    let Some(first) = samples.first() else { return Ok(()) };
    let address = format!("imported:{label}");
    let calibrated = calibration.is_some();
    let from_s = first.time_s;
    if let Some(mut calibration) = calibration {
        calibration.sensor = address.clone();
        let new = NewCalibration { name: None, calibration };
        writer.send(Write::Calibration(Box::new(new))).await?;
    }
    writer
        .send(Write::StrapSensor(StrappedSensor {
            visit,
            role,
            strap_epoch: STRAP_EPOCH,
            from_s,
            address,
            name: None,
            serial: None,
            profile: PROFILE.to_owned(),
            scale: None,
            calibrated,
        }))
        .await?;
    for samples in samples.chunks(CHUNK_SAMPLES) {
        let readings = Readings::Values(samples.to_vec());
        let (strap_epoch, counter_epoch) = (STRAP_EPOCH, 0);
        writer
            .send(Write::Chunk(RawChunk { visit, role, strap_epoch, counter_epoch, readings }))
            .await?;
    }
    Ok(())
}

fn first_s(recording: &Recording) -> f64 {
    let samples = recording.sensors.iter().filter_map(|sensor| sensor.samples.first());
    samples.map(|sample| sample.time_s).fold(f64::INFINITY, f64::min).min(0.0)
}

fn last_s(recording: &Recording) -> f64 {
    let samples = recording.sensors.iter().filter_map(|sensor| sensor.samples.last());
    let ends = recording.spans.iter().map(endarc_protocol::events_csv::Event::end_s);
    samples.map(|sample| sample.time_s).chain(ends).fold(first_s(recording), f64::max)
}
