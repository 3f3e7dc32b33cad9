//! `endarc run`: record a visit and serve its page.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use endarc_protocol::words::{Side, TestKind};
use endarc_simulator::{Scenario, Session as Simulation};
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::pace::PaceArgs;
use super::telling::{self, Out};
use super::{arguments, begun, input, simulate, stdio};
use crate::error::Failure;
use crate::pipeline::{NOBODY, Recorded, queues};
use crate::profiles::Profiles;
use crate::session::{Session, Task};
use crate::source::{Pace, Source, SourceSpec, Therapist, Worn, replay, sensors, sim};
use crate::store::{self, Code, Reader};
use crate::tilt::TableTilt;
use crate::{clock, folders, http, signals};

/// Said when no source was named and no sensor is assigned.
const NO_SENSORS: &str = "no sensor is assigned: find yours with 'endarc sensors scan' and say \
     where it is worn with 'endarc sensors assign ADDRESS ROLE'; without sensors, name a source \
     with --source sim:clinic (or sim:SCENARIO.toml), or --source replay:DIR";

/// Record a visit, and show it on a page of this computer
///
/// The page's address is told on stderr and in DIR/address. When the source has ended, the visit is
/// closed and the page is served on until Ctrl-C.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Where samples come from: sim:clinic, sim:SCENARIO.toml or replay:DIR [default: the
    /// assigned Bluetooth sensors]
    #[arg(long, value_name = "SOURCE")]
    source: Option<SourceSpec>,
    /// Which leg shank.csv was worn on, for a replay:DIR whose file does not say so
    #[arg(long, value_name = "left|right")]
    side: Option<Side>,
    /// What is measured, with sensors or in a replay:DIR [default: prone-hip-rotation]
    #[arg(long, value_parser = arguments::test_parser())]
    test: Option<TestKind>,
    /// Where the page is served; port 0 lets the system choose one
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8420")]
    listen: SocketAddr,
    /// The person's code, never a name [default: the scenario's, or `unknown`]
    #[arg(long, value_name = "CODE")]
    person: Option<Code>,
    /// Sideways tilt of the table in degrees, positive where a prone person's left is higher
    #[arg(long, value_name = "DEG", allow_negative_numbers = true, value_parser = arguments::tilt)]
    table_tilt_deg: Option<f64>,
    /// The treatment table, by the name it was levelled under: its stored tilt counts
    #[arg(long, value_name = "NAME", conflicts_with = "table_tilt_deg")]
    table: Option<String>,
    /// The sensors are simulated: play the marks of this visit from the line `begun` on stdin on. The
    /// visit ends with the scenario, and the program with stdin
    #[arg(long, value_name = "SCENARIO.toml", hide = true, conflicts_with_all = ["source", "guided"])]
    marks: Option<PathBuf>,
    /// Lead through the visit: person, cautions, consent, plan, then by what the limb does; the
    /// source's own marks do not count. Bluetooth sensors are led this way by themselves
    #[arg(long)]
    guided: bool,
    /// With Bluetooth sensors: no guide, the pedal says what comes next
    #[arg(long, conflicts_with = "guided")]
    unguided: bool,
    #[command(flatten)]
    pace: PaceArgs,
}

/// Does it.
///
/// # Errors
/// When no source was named or it cannot be read, the data folder cannot be used, the port is
/// taken, or what is recorded cannot be stored.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data_dir = folders::data(data_dir).map_err(said)?;
    let source = match &args.source {
        Some(spec) => source(spec, args.side, args.test)?,
        None => assigned(args, &data_dir)?,
    };
    let led_by_itself = args.source.is_none() && args.marks.is_none() && !args.unguided;
    let source = if args.guided || led_by_itself { source.guided() } else { source };
    let person = match (&args.person, &source.info().person) {
        (Some(person), _) => person.clone(),
        (None, Some(code)) => code.parse().map_err(said)?,
        (None, None) => NOBODY.parse().map_err(said)?,
    };
    runtime()?.block_on(serve(args, source, person, data_dir))
}

/// The assigned sensors as a source.
fn assigned(args: &Args, data_dir: &Path) -> Result<Source, Failure> {
    if args.side.is_some() {
        return Err(Failure::Said(
            "--side belongs to --source replay:DIR: leave it out".to_owned(),
        ));
    }
    if args.pace.pace() != Pace::REAL {
        let problem = "sensors send in real time: leave --fast and --speed out";
        return Err(Failure::Said(problem.to_owned()));
    }
    let assigned = match Reader::open(data_dir).and_then(|reader| reader.assignments()) {
        Ok(assigned) => assigned,
        Err(store::ReadError::NoDatabase { .. } | store::ReadError::Older { .. }) => Vec::new(),
        Err(error) => return Err(said(error)),
    };
    if assigned.is_empty() {
        return Err(Failure::Said(NO_SENSORS.to_owned()));
    }
    let profiles = Profiles::load().map_err(said)?;
    let worn = |one: store::Assignment| {
        let profile = profiles.named(&one.profile).ok_or_else(|| {
            Failure::Said(format!(
                "the profile '{}' of the {} sensor is not there any more: put it back, or assign \
                 {} anew",
                one.profile, one.role, one.address
            ))
        })?;
        Ok(Worn { role: one.role, address: one.address, name: one.name, profile })
    };
    let worn: Result<Vec<Worn>, Failure> = assigned.into_iter().map(worn).collect();
    Ok(sensors(worn?, args.test.unwrap_or(TestKind::ProneHipRotation)))
}

/// The runtime of commands that record.
pub(super) fn runtime() -> Result<tokio::runtime::Runtime, Failure> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::Said(format!("the system gives no threads to run on: {error}")))
}

/// A failure that is a sentence already.
pub(super) fn said(error: impl std::error::Error) -> Failure {
    Failure::Said(crate::error::chain(&error))
}

/// The source that a text names.
pub(super) fn source(
    spec: &SourceSpec,
    side: Option<Side>,
    test: Option<TestKind>,
) -> Result<Source, Failure> {
    let needless =
        |what| Failure::Said(format!("{what} belongs to --source replay:DIR: leave it out"));
    match (spec, side, test) {
        (SourceSpec::Replay(folder), side, test) => {
            replay(folder, side, test.unwrap_or(TestKind::ProneHipRotation)).map_err(said)
        }
        (_, Some(_), _) => Err(needless("--side")),
        (_, _, Some(_)) => Err(needless("--test")),
        (SourceSpec::SimClinic, None, None) => Ok(sim(&Scenario::clinic())),
        (SourceSpec::Sim(file), None, None) => {
            let text = input::text(file)?;
            let scenario = Scenario::parse(&file.display().to_string(), &text).map_err(said)?;
            Ok(sim(&scenario))
        }
    }
}

async fn serve(
    args: &Args,
    source: Source,
    person: Code,
    data_dir: PathBuf,
) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let source = match &args.marks {
        Some(scenario) => {
            let session = Simulation::new(&simulate::scenario(scenario)?);
            source.marked_by(Therapist::of(&session, begun::on_stdin(stop.clone())))
        }
        None => source,
    };
    let store = store::open(&data_dir).map_err(said)?;
    let tilt = tilt(args, &data_dir)?;
    let listener = http::bind(args.listen).await.map_err(said)?;
    let mut session = Session::start(&data_dir, store, Some(listener)).map_err(said)?;
    if let Some(page) = session.page() {
        stdio::note(&format!("page: {page}"));
    }
    let (announcements, lines) = mpsc::channel(queues::ANNOUNCEMENTS);
    let telling = telling::tell(lines, Out::Stderr);
    let pace = args.pace.pace();
    let task = Task { source, person, pace, tilt, announcements };
    let recorded = session.record(task, &stop).await;
    telling.await.ok();
    if let Ok(recorded) = &recorded {
        note_end(recorded, &stop);
        stop.cancelled().await;
    }
    // The recording's failure is the one to tell; closing comes after it either way.
    let closed = session.close().await;
    recorded.map_err(said)?;
    closed.map_err(said)
}

/// How the table stands, as far as that is told; a stored levelling is told with its date.
fn tilt(args: &Args, data_dir: &Path) -> Result<TableTilt, Failure> {
    let Some(name) = &args.table else {
        return Ok(args.table_tilt_deg.map_or(TableTilt::Untold, TableTilt::Degrees));
    };
    let tables = Reader::open(data_dir).and_then(|reader| reader.tables()).map_err(said)?;
    let Some(table) = tables.iter().find(|table| table.name.eq_ignore_ascii_case(name.trim()))
    else {
        let known: Vec<&str> = tables.iter().map(|table| table.name.as_str()).collect();
        return Err(Failure::Said(format!(
            "no table is called {name} ({}): level it with `endarc tables level` or on the page",
            if known.is_empty() { "none was levelled".to_owned() } else { known.join(", ") }
        )));
    };
    let days = clock::wall().timestamp().duration_since(table.levelled_at).as_hours() / 24;
    let when = table.levelled_at.strftime("%Y-%m-%d");
    let ago = if days == 1 { "1 day ago".to_owned() } else { format!("{days} days ago") };
    stdio::note(&format!(
        "table {}: sideways {:+.2}° ± {:.2}°, levelled on {when} ({ago}). Has it moved since? Then level \
         it anew",
        table.name,
        table.level.sideways_rad.to_degrees(),
        table.level.sideways_sd_rad.to_degrees(),
    ));
    Ok(TableTilt::Table(table.name.clone()))
}

fn note_end(recorded: &Recorded, stop: &CancellationToken) {
    let visit = recorded.visit;
    let count = recorded.finalised.counting().count();
    let line = format!("visit {visit} is closed and kept, with {count} repetitions");
    stdio::note(&if stop.is_cancelled() {
        line
    } else {
        format!("{line}; the page is served until Ctrl-C")
    });
}
