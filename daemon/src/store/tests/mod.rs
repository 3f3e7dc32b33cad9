//! The store as a whole: what goes in comes out, whatever happens in between.

mod answers;
mod opening;
mod round_trip;
mod saving;
mod schema;

use std::path::Path;

use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Direction, Phase, SensorRole, Side, TestKind, TrialType};
use jiff::Timestamp;

use super::rows::{NewRepetition, NewSpan, NewVisit, RawChunk, RepetitionValue, StrappedSensor};
use super::words::{Source, ValueKind};
use super::{Reader, VisitId, WallTime, Write, Writer, WriterHandle, chunk, open};

fn start(dir: &Path) -> Writer {
    Writer::start(open(dir).unwrap()).unwrap()
}

fn new_visit() -> NewVisit {
    NewVisit {
        person: "P-014".parse().unwrap(),
        test: TestKind::ProneHipRotation,
        source: Source::Sim,
        started: WallTime {
            utc: "2026-11-25T08:30:00Z".parse().unwrap(),
            offset_s: 3600,
            zone: Some("Europe/Berlin".to_owned()),
        },
        started_s: 0.0,
        table_tilt_deg: None,
        primary: None,
        end_criterion: None,
        notes: None,
        program_version: "0.1.0".to_owned(),
    }
}

fn sensor(visit: VisitId, role: SensorRole) -> StrappedSensor {
    StrappedSensor {
        visit,
        role,
        strap_epoch: 0,
        from_s: 0.0,
        address: format!("sim:{role}"),
        name: Some("a simulated sensor".to_owned()),
        serial: None,
        profile: "simulated".to_owned(),
        scale: None,
        calibrated: true,
    }
}

/// A hundred samples a second that differ in every value.
fn samples(from_s: u32, to_s: u32) -> Vec<Sample> {
    (from_s * 100..to_s * 100)
        .map(|i| {
            let time_s = f64::from(i) / 100.0;
            Sample {
                time_s,
                accel_m_s2: [time_s.sin(), time_s.cos(), 9.81],
                gyro_rad_s: [0.1 * time_s.cos(), -0.1 * time_s.sin(), 0.001],
                ..Sample::default()
            }
        })
        .collect()
}

fn chunk(visit: VisitId, role: SensorRole, from_s: u32) -> Write {
    Write::Chunk(RawChunk {
        visit,
        role,
        strap_epoch: 0,
        counter_epoch: 0,
        readings: chunk::Readings::Values(samples(from_s, from_s + 1)),
    })
}

fn value(kind: ValueKind, version: &str, end_range_deg: f64) -> RepetitionValue {
    RepetitionValue {
        kind,
        algorithm_version: version.to_owned(),
        end_range_deg,
        uncertainty_deg: 0.8,
        start_s: 10.0,
        end_range_at_s: 12.5,
        hold_s: 1.25,
        knee_flexion_deg: Some(91.0),
        pelvis_roll_deg: None,
        barriers: None,
        flags: vec!["pelvis-not-seen".to_owned(), "touched".to_owned()],
        computed_at: "2026-11-25T08:31:00.25Z".parse::<Timestamp>().unwrap(),
    }
}

fn repetition(visit: VisitId, direction: Direction) -> NewRepetition {
    NewRepetition {
        visit,
        side: Side::Left,
        phase: Phase::Baseline,
        direction,
        rater: Some("R1".parse().unwrap()),
        end_criterion: None,
        strap_epoch: Some(0),
        value: value(ValueKind::Live, "1", 31.5),
    }
}

fn span(visit: VisitId, trial_type: TrialType, start_s: f64) -> NewSpan {
    NewSpan { visit, trial_type, side: None, start_s }
}

/// A visit with both shank sensors.
async fn begin(writer: &WriterHandle) -> VisitId {
    let visit = writer.begin_visit(new_visit()).await.unwrap();
    for role in [SensorRole::LeftShank, SensorRole::RightShank] {
        writer.save(Write::StrapSensor(sensor(visit, role))).await.unwrap();
    }
    visit
}

fn read_samples(reader: &Reader, visit: VisitId, role: SensorRole) -> Vec<Sample> {
    reader.raw_samples(visit, role).flat_map(Result::unwrap).collect()
}
