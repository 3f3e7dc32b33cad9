//! `endarc demo`: the whole job on simulated sensors.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use endarc_simulator::{Scenario, Session as Simulation};
use tokio::net::TcpListener;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::pace::PaceArgs;
use super::run::{runtime, said};
use super::telling::{self, Out};
use super::{browser, stdio};
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
}

/// Does it.
///
/// # Errors
/// When the folder cannot be used, no port is free, or the visit cannot be stored.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
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
    runtime()?.block_on(walk_through(args, folder))
}

async fn walk_through(args: &Args, folder: PathBuf) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let store = store::open(&folder).map_err(said)?;
    let listener = listener(args).await?;
    let mut session = Session::start(&folder, store, listener).map_err(said)?;
    let out = if args.json { Out::Stderr } else { Out::Stdout };
    greet(args, &session, out);
    let result = measure(args, &mut session, &folder, out, &stop).await;
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
    session: &mut Session,
    folder: &Path,
    out: Out,
    stop: &CancellationToken,
) -> Result<Outcome, Failure> {
    let scenario = Scenario::clinic();
    let (announcements, lines) = mpsc::channel(queues::ANNOUNCEMENTS);
    let telling = telling::tell(lines, out);
    let task = Task {
        source: sim(&scenario),
        person: scenario.person().parse().map_err(said)?,
        pace: args.pace.pace(),
        tilt: TableTilt::Untold,
        announcements,
    };
    let recorded = session.record(task, stop).await;
    // A task that only writes lines; what it could not write nobody reads.
    telling.await.ok();
    against_truth(args, folder, &scenario, &recorded.map_err(said)?)
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
    let mut truth = Simulation::new(scenario).truth().clone();
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
