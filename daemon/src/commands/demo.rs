//! `endarc demo`: the whole job on simulated sensors.

#[cfg_attr(not(target_os = "linux"), path = "demo/elsewhere.rs")]
mod bluetooth;
mod over_bluetooth;

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use endarc_simulator::{Scenario, Session as Simulation};
use tokio::net::TcpListener;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::pace::PaceArgs;
use super::run::{runtime, said};
use super::telling::{self, Out};
use super::{browser, simulate, stdio};
use crate::demo::{Outcome, OutcomeJson, Values, outcome, write_summary};
use crate::error::Failure;
use crate::pipeline::{Recorded, queues};
use crate::session::{Session, Task};
use crate::source::sim;
use crate::store::{self, Reader};
use crate::tilt::TableTilt;
use crate::{http, signals};

/// Where the page is served, if the port is free; else on the next free one.
const ADDRESS: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(Ipv4Addr::LOCALHOST), 8420);

/// Walk through a visit on simulated sensors: both hips before and after the treatment of one
///
/// It needs no hardware. What happens is told as it goes, and shown on a page whose address is
/// printed first. The visit is kept in a scratch folder that is removed at the end, or in the
/// folder named with --data-dir.
///
/// With --bluetooth the sensors stand behind a Bluetooth service of their own, which a second process
/// finds, connects and reads as it would real ones (Linux; needs dbus-daemon, but no adapter).
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    pace: PaceArgs,
    /// Open the page in the browser
    #[arg(long, conflicts_with = "fast")]
    open: bool,
    /// Print one JSON object to stdout when the visit is over; what happens goes to stderr
    #[arg(long)]
    json: bool,
    /// The values as they were told at the table, instead of the final ones
    #[arg(long)]
    live: bool,
    /// Reach the simulated sensors over a Bluetooth service of their own, in real time
    #[arg(long, conflicts_with_all = ["fast", "speed"])]
    bluetooth: bool,
    /// The process of --bluetooth that measures: hears on stdin that the visit has begun
    #[arg(long, hide = true, conflicts_with_all = ["fast", "speed", "bluetooth"])]
    over_bluetooth: bool,
    /// Another visit than the one that ships with the program
    #[arg(long, hide = true, value_name = "SCENARIO.toml", default_value = simulate::CLINIC)]
    scenario: PathBuf,
}

/// Does it.
///
/// # Errors
/// When the folder cannot be used, no port is free, or the visit cannot be stored.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let scenario = simulate::scenario(&args.scenario)?;
    if args.bluetooth {
        return bluetooth::host(args, &scenario, data_dir);
    }
    let scratch;
    let folder = match data_dir {
        Some(folder) => folder.to_owned(),
        None => {
            scratch =
                tempfile::Builder::new().prefix("endarc-demo-").tempdir().map_err(|error| {
                    Failure::Said(format!(
                        "no scratch folder can be made ({error}): name one with --data-dir DIR"
                    ))
                })?;
            scratch.path().to_owned()
        }
    };
    runtime()?.block_on(walk_through(args, &scenario, folder))
}

async fn walk_through(args: &Args, scenario: &Scenario, folder: PathBuf) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let store = store::open(&folder).map_err(said)?;
    let listener = listener(args).await?;
    let mut session = Session::start(&folder, store, listener).map_err(said)?;
    let out = if args.json { Out::Stderr } else { Out::Stdout };
    greet(args, &session, out);
    let result = measure(args, scenario, &mut session, &folder, out, &stop).await;
    let result = match result {
        Ok(outcome) => answer(args, &outcome),
        Err(failure) => Err(failure),
    };
    if result.is_ok() && !args.pace.fast && !stop.is_cancelled() {
        out.line("\nThe page is served until Ctrl-C.");
        stop.cancelled().await;
    }
    let closed = session.close().await.map_err(said);
    result.and(closed)
}

/// Under the virtual clock the visit is over before a page could be opened.
async fn listener(args: &Args) -> Result<Option<TcpListener>, Failure> {
    if args.pace.fast {
        return Ok(None);
    }
    http::bind_or_next(ADDRESS).await.map(Some).map_err(said)
}

fn greet(args: &Args, session: &Session, out: Out) {
    out.line("A simulated visit: person prone, one sensor on each shank and one on the pelvis.");
    if args.over_bluetooth {
        out.line("They are reached over Bluetooth: a service that stands in for the system's.");
    }
    out.line("It is an instrument and a notebook, not a diagnostic or medical device.");
    if let Some(page) = session.page() {
        out.line(&format!("page: {page}"));
        if args.open
            && let Err(error) = browser::open(&page)
        {
            out.line(&format!("no browser could be opened ({error}): open the page yourself"));
        }
    }
    out.line("");
}

async fn measure(
    args: &Args,
    scenario: &Scenario,
    session: &mut Session,
    folder: &Path,
    out: Out,
    stop: &CancellationToken,
) -> Result<Outcome, Failure> {
    let (announcements, lines) = mpsc::channel(queues::ANNOUNCEMENTS);
    let telling = telling::tell(lines, out);
    let task = Task {
        source: if args.over_bluetooth {
            over_bluetooth::source(scenario, stop)
        } else {
            sim(scenario)
        },
        person: scenario.person().parse().map_err(said)?,
        pace: args.pace.pace(),
        tilt: TableTilt::Untold,
        announcements,
    };
    let recorded = session.record(task, stop).await;
    // A task that only writes lines; what it could not write nobody reads.
    telling.await.ok();
    against_truth(args, folder, scenario, &recorded.map_err(said)?)
}

fn against_truth(
    args: &Args,
    folder: &Path,
    scenario: &Scenario,
    recorded: &Recorded,
) -> Result<Outcome, Failure> {
    let values = if args.live { Values::Live } else { Values::Final };
    let record = Reader::open(folder).and_then(|reader| reader.visit(recorded.visit));
    let record = record
        .map_err(said)?
        .ok_or_else(|| Failure::Said(format!("visit {} is not in the store", recorded.visit)))?;
    let simulation = Simulation::new(scenario);
    let truth = simulation.truth().clone();
    let mut truth = match (record.spans.first(), simulation.events().first()) {
        // Sensors that are reached by radio have to be found before the visit begins.
        (Some(span), Some(event)) => truth.later(span.start_s - event.onset_s),
        _ => truth,
    };
    // What a visit that was stopped did not come to was not missed.
    truth.repetitions.retain(|one| one.hold_start_s + one.hold_s <= recorded.duration_s);
    Ok(outcome(recorded, &record, &truth, values))
}

fn answer(args: &Args, outcome: &Outcome) -> Result<(), Failure> {
    if args.json {
        return stdio::answer_json(&OutcomeJson::from(outcome));
    }
    stdio::answer(|out| write_summary(out, outcome))
}
