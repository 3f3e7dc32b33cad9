//! One visit, from its opening in the store to its final values.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use jiff::SignedDuration;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use super::core::{Core, Given};
use super::keeper::{Chunks, Device, Keeper};
use super::pump::{Publisher, Pump};
use super::{queues, rows};
use crate::clock;
use crate::finalise::{FinaliseError, Finalised, finalise};
use crate::http;
use crate::live::LiveState;
use crate::meters::Meters;
use crate::source::{Pace, Source, SourceInfo, SourceSensor};
use crate::store::rows::{NewVisit, StrappedSensor};
use crate::store::words::VisitState;
use crate::store::{Code, ReadError, Reader, VisitId, WallTime, Write, WriteError, WriterHandle};
use crate::tilt::TableTilt;
use crate::visit::{Announcement, Finished, Kept, Marks, VisitEvent};

/// How long a task may take to end once its input has ended; the store has its own two seconds.
pub(super) const JOIN_LIMIT: Duration = Duration::from_secs(10);

/// A visit that broke off is taken up within so long.
const TAKEN_UP_WITHIN: SignedDuration = SignedDuration::from_hours(3);

/// The person's code where neither the command line nor the source names one.
pub const NOBODY: &str = "unknown";

/// How a visit is recorded.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The person's code.
    pub person: Code,
    /// How fast visit time runs.
    pub pace: Pace,
    /// The data folder, to read raw samples back from.
    pub data_dir: PathBuf,
    /// How the table stands.
    pub tilt: TableTilt,
}

/// Where a visit's recording meets the rest of the program.
#[derive(Debug)]
pub struct Ends {
    /// Where it stores.
    pub writer: WriterHandle,
    /// What the page shows.
    pub live: watch::Sender<Arc<LiveState>>,
    /// What the page says.
    pub commands: mpsc::Receiver<http::Command>,
    /// What the page asks for and is answered.
    pub orders: mpsc::Receiver<http::Asked>,
    /// Who tells people.
    pub announcements: mpsc::Sender<Announcement>,
    /// What is measured on the way.
    pub meters: Meters,
}

/// A visit that was recorded and closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// The visit.
    pub visit: VisitId,
    /// How long it was, s of visit time.
    pub duration_s: f64,
    /// What it came to.
    pub finalised: Finalised,
}

/// Why a recording broke off.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// The store does not take it.
    #[error("the visit cannot be stored: {0}")]
    Store(#[from] WriteError),
    /// The visit is closed and kept, but has no final values.
    #[error("the visit is kept, but {0}")]
    Finalise(#[from] FinaliseError),
    /// What is known of the sensors and the table cannot be read.
    #[error("what is known of the sensors and the table cannot be read: {0}")]
    Read(#[from] ReadError),
    /// A task did not end in time.
    #[error("the {0} task did not end within 10 seconds: look at the log (ENDARC_LOG=info)")]
    Overdue(&'static str),
    /// A task broke off.
    #[error("the {0} task broke off: this is a fault in endarc; what was stored is kept")]
    BrokeOff(&'static str),
}

/// Records a visit: opens it in the store, runs the source to its end (or until `stop`), stores
/// what arrived, closes the visit, and computes and stores the final values.
///
/// # Errors
/// [`RecordError`]. What had been stored until then stays.
pub async fn record(
    source: Source,
    settings: Settings,
    ends: Ends,
    stop: CancellationToken,
) -> Result<Recorded, RecordError> {
    let clock = ends.meters.clock();
    let info = source.info().clone();
    let visit = open(&info, &settings, &ends.writer).await?;
    let given = given(&settings.data_dir, visit).await?;
    let stop = stop.child_token();

    let (to_pipeline, events) = mpsc::channel(queues::SOURCE);
    let (to_keeper, records) = mpsc::channel(queues::KEEPER);
    let (to_visit, answers) = mpsc::channel(queues::ANSWERS);
    let chunks = if settings.pace.is_fast() { Chunks::Batched } else { Chunks::Awaited };
    let keeper = Keeper::new(
        visit,
        devices(&info),
        ends.writer.clone(),
        to_visit,
        chunks,
        ends.meters.clone(),
    );
    let keeper = tokio::spawn(keeper.run(records));
    let mut pump = Pump {
        core: Core::new(&info, visit, settings.person.as_str(), given),
        pace: settings.pace,
        clock,
        keeper: Some(to_keeper),
        answers,
        commands: ends.commands,
        orders: ends.orders,
        announcements: ends.announcements,
        saving: ends.writer.saving(),
        stop: stop.clone(),
        publisher: Publisher::new(ends.live, ends.meters),
        heard: (info.start_s, clock.now_s()),
        untold: 0,
    };
    if info.marks == Marks::Guide {
        for event in before(&settings, visit).await? {
            pump.tell(event).await;
        }
    }
    let playing = tokio::spawn(source.play(settings.pace, clock, to_pipeline, stop));
    let pumping = tokio::spawn(async move {
        pump.run(events).await;
        pump
    });

    // The pipeline ends when the source has, however long that takes; from then on there is a
    // limit.
    let mut pump = pumping.await.map_err(|_panicked| RecordError::BrokeOff("pipeline"))?;
    join("source", playing).await?;
    pump.close_keeper();
    drained(&mut pump, keeper).await?;
    close(visit, &settings, &ends.writer, &mut pump).await
}

async fn open(
    info: &SourceInfo,
    settings: &Settings,
    writer: &WriterHandle,
) -> Result<VisitId, WriteError> {
    let new = NewVisit {
        person: settings.person.clone(),
        test: info.test,
        source: info.kind,
        started: WallTime::from(&clock::wall()),
        started_s: info.start_s,
        table_tilt_deg: settings.tilt.degrees(),
        primary: None,
        end_criterion: None,
        notes: None,
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
    };
    let visit = writer.begin_visit(new).await?;
    if let Some(table) = settings.tilt.table() {
        writer.save(Write::UseTable { visit, table: Some(table.to_owned()) }).await?;
    }
    for sensor in &info.sensors {
        let profile = sensor.profile.as_deref();
        let strapped = StrappedSensor {
            visit,
            role: sensor.role,
            strap_epoch: rows::STRAP_EPOCH,
            from_s: info.start_s,
            address: sensor.address.clone(),
            name: sensor.name.clone(),
            serial: None,
            profile: profile.map_or("none", |profile| profile.name()).to_owned(),
            scale: profile.and_then(super::intake::scale),
            calibrated: true,
        };
        writer.save(Write::StrapSensor(strapped)).await?;
    }
    Ok(visit)
}

/// What a guided visit is told before anything comes: what is known of the person, and a visit that
/// broke off a short while ago.
async fn before(settings: &Settings, visit: VisitId) -> Result<Vec<VisitEvent>, RecordError> {
    let (folder, person) = (settings.data_dir.clone(), settings.person.clone());
    let since = clock::wall().timestamp() - TAKEN_UP_WITHIN;
    let reading = tokio::task::spawn_blocking(move || {
        let reader = Reader::open(&folder)?;
        let known = reader.known(person.as_str())?;
        let named = Some(person.as_str()).filter(|person| *person != NOBODY);
        let broken_off = reader.broken_off(visit, named, since)?;
        Ok::<_, ReadError>((known, broken_off))
    });
    let (known, broken_off) =
        reading.await.map_err(|_panicked| RecordError::BrokeOff("store"))??;
    let mut events = vec![VisitEvent::Known(known)];
    events.extend(broken_off.map(VisitEvent::TakeUp));
    Ok(events)
}

fn devices(info: &SourceInfo) -> Vec<Device> {
    let device = |sensor: &SourceSensor| Device {
        role: sensor.role,
        address: sensor.address.clone(),
        name: sensor.name.clone(),
    };
    info.sensors.iter().map(device).collect()
}

/// What was stored of the visit's sensors and table.
async fn given(data_dir: &Path, visit: VisitId) -> Result<Given, RecordError> {
    let folder = data_dir.to_owned();
    let reading = tokio::task::spawn_blocking(move || Reader::open(&folder)?.visit(visit));
    let record = reading.await.map_err(|_panicked| RecordError::BrokeOff("store"))??;
    Ok(record.as_ref().map(Given::of).unwrap_or_default())
}

/// Waits for a task that has nothing left to wait for.
async fn join<T>(name: &'static str, task: JoinHandle<T>) -> Result<T, RecordError> {
    match tokio::time::timeout(JOIN_LIMIT, task).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(_panicked)) => Err(RecordError::BrokeOff(name)),
        Err(_elapsed) => Err(RecordError::Overdue(name)),
    }
}

/// Lets the keeper store what is left, and the visit hear of it.
async fn drained(
    pump: &mut Pump,
    keeper: JoinHandle<Result<(), WriteError>>,
) -> Result<(), RecordError> {
    let (stored, ()) = tokio::join!(join("keeper", keeper), pump.hear_the_rest());
    Ok(stored??)
}

async fn close(
    visit: VisitId,
    settings: &Settings,
    writer: &WriterHandle,
    pump: &mut Pump,
) -> Result<Recorded, RecordError> {
    let duration_s = pump.core.now_s();
    let end = Write::EndVisit { visit, state: VisitState::Closed, ended_s: duration_s };
    writer.save(end).await?;
    let computed = finalise(&settings.data_dir, writer, visit).await;
    let finished = match &computed {
        Ok(finalised) => finished(finalised),
        Err(error) => Finished { repetitions: None, remarks: vec![error.to_string()] },
    };
    pump.tell(VisitEvent::Finished(finished)).await;
    pump.publisher.finish(&pump.core);
    Ok(Recorded { visit, duration_s, finalised: computed? })
}

fn finished(finalised: &Finalised) -> Finished {
    let kept = finalised
        .counting()
        .map(|kept| Kept { id: kept.id.to_string(), repetition: kept.repetition.clone() });
    Finished {
        repetitions: Some(kept.collect()),
        remarks: finalised
            .failed
            .iter()
            .map(|(side, error)| format!("{side} leg: no final values: {error}"))
            .collect(),
    }
}
