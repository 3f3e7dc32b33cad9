//! Whole visits through the pipeline, on the virtual clock.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::recording::{self, Recording};
use endarc_analysis::result::Repetition;
use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side, TestKind, TrialType};
use endarc_simulator::Scenario;
use rusqlite::Connection;
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

use super::core::{Core, Given, Output};
use super::*;
use crate::finalise;
use crate::live::LiveState;
use crate::meters::Meters;
use crate::source::{Pace, Source, SourceEvent, SourceInfo, SourceSensor, sim};
use crate::store::records::VisitRecord;
use crate::store::words::VisitState;
use crate::store::{self, Reader, Writer};
use crate::tilt::TableTilt;
use crate::visit::{Command, Marks, Record, SpanMark};

/// One leg, three repetitions each way, before and after: short enough for a test.
const SHORT: &str = r#"
seed = 5
rate_hz = 100

[[sensors]]
role = "right-shank"
mounting_error_deg = 15

[[sensors]]
role = "pelvis"

[link]
loss = 0.002
burst_every_s = 10
burst_s = 0.2

[[script]]
neutral = { side = "right" }

[[script]]
align-knee = { side = "right", times = 3 }

[[script]]
baseline = { side = "right" }

[[script]]
retest = { side = "right" }
"#;

fn short() -> Scenario {
    Scenario::parse("short.toml", SHORT).unwrap()
}

/// A visit that was recorded: what the store holds, and every state that was shown.
struct Visit {
    folder: tempfile::TempDir,
    recorded: Recorded,
    record: VisitRecord,
    last: Arc<LiveState>,
    lines: Vec<String>,
}

async fn recorded(source: Source, stop: CancellationToken) -> Visit {
    recorded_beside(source, stop, async |_folder: PathBuf, _seen| {}).await
}

/// Records a visit while something else happens.
async fn recorded_beside(
    source: Source,
    stop: CancellationToken,
    beside: impl AsyncFnOnce(PathBuf, watch::Receiver<Arc<LiveState>>),
) -> Visit {
    let folder = tempfile::tempdir().unwrap();
    let writer = Writer::start(store::open(folder.path()).unwrap()).unwrap();
    let (live, seen) = watch::channel(Arc::new(LiveState::waiting()));
    let (_to_visit, commands) = mpsc::channel(1);
    let (_to_desk, orders) = mpsc::channel(1);
    let (announcements, mut told) =
        mpsc::channel::<crate::visit::Announcement>(queues::ANNOUNCEMENTS);
    let listening = tokio::spawn(async move {
        let mut lines = Vec::new();
        while let Some(announcement) = told.recv().await {
            lines.push(announcement.line);
        }
        lines
    });
    let settings = Settings {
        person: "P-001".parse().unwrap(),
        pace: Pace::Fast,
        data_dir: folder.path().to_owned(),
        tilt: TableTilt::Untold,
    };
    let ends = Ends {
        writer: writer.handle(),
        live,
        commands,
        orders,
        announcements,
        meters: Meters::start(),
    };
    let happening = beside(folder.path().to_owned(), seen.clone());
    let (recorded, ()) = tokio::join!(record(source, settings, ends, stop), happening);
    let recorded = recorded.unwrap();
    writer.close().await.unwrap();
    let record = read(folder.path(), &recorded);
    let last = seen.borrow().clone();
    Visit { folder, recorded, record, last, lines: listening.await.unwrap() }
}

fn read(folder: &Path, recorded: &Recorded) -> VisitRecord {
    Reader::open(folder).unwrap().visit(recorded.visit).unwrap().unwrap()
}

impl Visit {
    fn samples(&self, role: SensorRole) -> Vec<Sample> {
        let reader = Reader::open(self.folder.path()).unwrap();
        reader.raw_samples(self.recorded.visit, role).flat_map(|chunk| chunk.unwrap()).collect()
    }

    fn live(&self) -> Vec<Repetition> {
        let live = |one: &store::records::RepetitionRecord| {
            Some(finalise::repetition(one, one.live.as_ref()?))
        };
        self.record.repetitions.iter().filter_map(live).collect()
    }
}

/// The same source, stopping when it has told so many events.
fn stopping(source: Source, after: usize, stop: &CancellationToken) -> Source {
    let stop = stop.clone();
    source.inspected(move |number| {
        if number == after {
            stop.cancel();
        }
    })
}

#[tokio::test]
async fn what_is_said_live_is_what_the_same_samples_give_in_one_go() {
    let visit = recorded(sim(&short()), CancellationToken::new()).await;
    let live = visit.live();
    assert_eq!(live.len(), 12, "{live:#?}");
    let events: Vec<Event> = visit
        .record
        .spans
        .iter()
        .map(|span| Event {
            onset_s: span.start_s,
            duration_s: span.end_s.unwrap() - span.start_s,
            trial_type: span.trial_type,
            side: span.side,
        })
        .collect();
    let (shank, pelvis) =
        (visit.samples(SensorRole::RightShank), visit.samples(SensorRole::Pelvis));
    let again = recording::analyse_live(&Recording {
        marks: &[],
        shank: &shank,
        pelvis: Some(&pelvis),
        events: &events,
        side: Side::Right,
        test: TestKind::ProneHipRotation,
        levelling: None,
        offsets: OffsetPriors::default(),
    })
    .unwrap();
    assert_eq!(live.len(), again.repetitions.len());
    for (streamed, batch) in live.iter().zip(&again.repetitions) {
        // Chunks hold the sensor's counts: a count times its scale is the same sample to the bit.
        assert_eq!(streamed.end_range_at_s, batch.end_range_at_s);
        assert_eq!(streamed.knee_flexion_deg, batch.knee_flexion_deg);
        assert_eq!(streamed.flags, batch.flags);
        // A recording's pelvis samples between the last shank sample and a mark are fed behind the
        // mark, here before it: the neutral pelvis differs by a sample.
        assert!((streamed.end_range_deg - batch.end_range_deg).abs() < 1e-12);
    }
}

#[tokio::test]
async fn the_same_scenario_gives_the_same_visit() {
    let one = recorded(sim(&short()), CancellationToken::new()).await;
    let other = recorded(sim(&short()), CancellationToken::new()).await;
    assert_eq!(one.recorded, other.recorded);
    assert_eq!(one.lines, other.lines);
    assert_eq!(one.last, other.last);
    assert_eq!(one.record.gaps, other.record.gaps);
    assert!(!one.record.gaps.is_empty(), "the link of this scenario loses some");
}

#[tokio::test]
async fn the_page_ends_with_the_final_values_of_a_closed_visit() {
    let visit = recorded(sim(&short()), CancellationToken::new()).await;
    assert_eq!(visit.record.summary.state, VisitState::Closed);
    assert!(visit.last.ended);
    assert_eq!(visit.record.verdicts.len(), 3);
    let shown: Vec<f64> = visit.last.repetitions.iter().map(|one| one.end_range_deg).collect();
    let stored: Vec<f64> =
        visit.record.repetitions.iter().map(|one| one.finals[0].end_range_deg).collect();
    assert_eq!(shown, stored);
    assert!(visit.record.spans.iter().all(|span| span.end_s.is_some()));
}

#[tokio::test]
async fn a_stop_loses_nothing_that_had_arrived_and_closes_the_visit() {
    // By events, not by time: about half of the visit, in the middle of a repetition.
    let after = sim(&short()).into_events().count() / 2;
    let stop = CancellationToken::new();
    let source = stopping(sim(&short()), after, &stop);
    let arrived = samples_in(sim(&short()).into_events().take(after));
    let visit = recorded(source, stop).await;
    assert_eq!(visit.record.summary.state, VisitState::Closed);
    let stored =
        visit.samples(SensorRole::RightShank).len() + visit.samples(SensorRole::Pelvis).len();
    assert!(arrived > 1_000);
    assert_eq!(stored, arrived);
    assert!(!visit.live().is_empty());
    assert!(visit.last.ended);
    assert!(visit.record.spans.iter().all(|span| span.end_s.is_some()));
}

#[tokio::test]
async fn a_disk_that_refuses_is_shown_while_everything_waits_for_it() {
    let undisturbed = recorded(sim(&short()), CancellationToken::new()).await;
    let disturbed =
        recorded_beside(sim(&short()), CancellationToken::new(), async |folder, seen| {
            let mut seen = seen;
            seen.wait_for(|state| state.time_s > 10.0).await.unwrap();
            let other = Connection::open(folder.join(store::DATABASE_FILE)).unwrap();
            other.busy_timeout(Duration::from_secs(60)).unwrap();
            other.execute_batch("BEGIN IMMEDIATE").unwrap();
            seen.wait_for(|state| !state.saving).await.unwrap();
            other.execute_batch("ROLLBACK").unwrap();
            seen.wait_for(|state| state.saving).await.unwrap();
        })
        .await;
    for role in [SensorRole::RightShank, SensorRole::Pelvis] {
        assert_eq!(disturbed.samples(role), undisturbed.samples(role));
    }
    assert_eq!(disturbed.recorded, undisturbed.recorded);
}

/// How many samples these notifications bring, by the way of the intake.
fn samples_in(events: impl Iterator<Item = SourceEvent>) -> usize {
    let info = sim(&short()).info().clone();
    let visit = "1".parse().unwrap();
    let mut intakes: Vec<_> =
        info.sensors.iter().map(|sensor| intake::Intake::new(visit, sensor)).collect();
    let mut count = 0;
    for event in events {
        if let SourceEvent::Notification { arrival_s, role, characteristic, bytes } = event {
            let intake = intakes.iter_mut().find(|intake| intake.role() == role).unwrap();
            count += intake.notification(arrival_s, characteristic, &bytes).samples.len();
        }
    }
    count + intakes.iter_mut().map(|intake| intake.finish().samples.len()).sum::<usize>()
}

#[test]
fn a_command_counts_from_the_moment_it_was_made() {
    let sensor = |role| SourceSensor { role, address: String::new(), name: None, profile: None };
    let info = SourceInfo {
        marks: Marks::Therapist,
        sensors: [SensorRole::LeftShank, SensorRole::Pelvis].map(sensor).to_vec(),
        ..sim(&short()).info().clone()
    };
    let mut core = Core::new(&info, "1".parse().unwrap(), "P-001", Given::default());
    let sample = |time_s| SourceEvent::Sample {
        role: SensorRole::LeftShank,
        sample: Sample { time_s, ..Sample::default() },
    };
    core.take_in(sample(0.1), 0.0);
    core.go_on();
    // The pelvis is waited for, in case it has an earlier sample to bring.
    assert_eq!(core.command(Command::Next), []);
    core.take_in(sample(0.5), 0.0);
    let outputs = core.go_on();
    let begun = SpanMark { trial_type: TrialType::Neutral, side: Some(Side::Left), time_s: 0.1 };
    assert!(outputs.contains(&Output::Record(Record::SpanBegan(begun))), "{outputs:?}");
}

/// H06, H21: each of what befell notifications is shown beside what was lost.
#[test]
fn what_befell_notifications_is_counted_for_the_page() {
    let undisturbed = SHORT.replace("loss = 0.002", "loss = 0");
    let source = sim(&Scenario::parse("short.toml", &undisturbed).unwrap());
    let info = source.info().clone();
    let mut core = Core::new(&info, "1".parse().unwrap(), "P-001", Given::default());
    let mut shank: Vec<SourceEvent> = source
        .into_events()
        .filter(|event| {
            matches!(event, SourceEvent::Notification { role: SensorRole::RightShank, .. })
        })
        .take(100)
        .collect();
    shank.insert(40, shank[39].clone());
    shank.swap(60, 61);
    if let SourceEvent::Notification { bytes, .. } = &mut shank[80] {
        bytes.pop();
    }
    for event in shank {
        core.take_in(event, 0.0);
    }
    let state = core.state();
    let shank = state.sensors.iter().find(|one| one.role == SensorRole::RightShank).unwrap();
    let per_notification = shank.duplicate;
    assert!(per_notification > 0);
    assert_eq!((shank.reordered, shank.lost), (per_notification, per_notification));
    assert_eq!((shank.malformed, shank.late, shank.saturated), (1, 0, 0));
}
