//! `endarc peripheral`: simulated sensors behind a Bluetooth service of their own, for trying out
//! and testing the Bluetooth way without hardware.

use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};

use endarc_simulator::Session;
use endarc_simulator::peripheral::{Clock, Fault, Peripheral, Script, Settings};
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::run::{runtime, said};
use super::{begun, input, simulate};
use crate::clock::{self, Monotonic};
use crate::error::Failure;
use crate::signals;

/// Lines that may wait until they are obeyed.
const LINES: usize = 16;

/// Put simulated sensors on a Bluetooth service of their own (needs dbus-daemon)
///
/// The first line on stdout is the address that a client is to be given in
/// DBUS_SYSTEM_BUS_ADDRESS. `begun SECONDS` follows when every worn sensor streams, with the visit's
/// time zero by the computer's monotonic clock, and `ended` when the visit is over. A line on stdin is a fault, such as
/// `silence pelvis 2`, and is answered by `done` or `refused: WHY`; `sent` is answered by a line
/// for each sensor: its notifications and bytes so far. It ends with stdin, or when asked to.
#[derive(Debug, clap::Args)]
#[command(hide = true)]
pub struct Args {
    /// Who, with which sensors, and what is done; `clinic` is the one that ships with the program
    #[arg(value_name = "SCENARIO.toml")]
    scenario: PathBuf,
    /// How the sensors write what they send; `reference` is the one that ships with the program
    #[arg(long, value_name = "PROFILE.toml", default_value = "reference")]
    frames_profile: PathBuf,
    /// What goes wrong: lines such as `12.5 silence pelvis 2` (s of visit time first)
    #[arg(long, value_name = "FILE")]
    faults: Option<PathBuf>,
    /// ATT MTU of every connection, bytes
    #[arg(long, value_name = "BYTES", default_value_t = 247)]
    mtu: u16,
    /// How many more sensors lie on the table, worn by nobody
    #[arg(long, value_name = "N", default_value_t = 0)]
    spares: usize,
    /// Seconds of the sensors' time that pass in one
    #[arg(long, value_name = "N", default_value_t = 1.0)]
    speed: f64,
}

/// Does it.
///
/// # Errors
/// When the scenario, the profile or the faults are refused, or no bus can be had.
pub fn run(args: &Args) -> Result<(), Failure> {
    let profile = simulate::profile(&args.frames_profile)?;
    let session = Session::new(&simulate::scenario(&args.scenario)?).speaking(&profile);
    let script = args.faults.as_deref().map(script).transpose()?.unwrap_or_default();
    let Args { mtu, spares, speed, .. } = *args;
    let settings = Settings { mtu, spares, speed, script };
    runtime()?.block_on(serve(&session, settings))
}

/// The faults of a file.
pub(super) fn script(path: &Path) -> Result<Script, Failure> {
    Script::parse(&path.to_string_lossy(), &input::text(path)?).map_err(said)
}

/// The clock that all processes share, as a peripheral takes it.
pub(super) fn clock() -> Clock {
    let own = Monotonic::start();
    Clock::new(move || clock::shared_s().unwrap_or_else(|| own.now_s()))
}

async fn serve(session: &Session, settings: Settings) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let peripheral = Peripheral::start(session, settings, clock()).await.map_err(said)?;
    answer(peripheral.address())?;
    let mut lines = lines();
    let (mut told, mut ended) = (false, false);
    loop {
        tokio::select! {
            () = stop.cancelled() => return Ok(()),
            zero_s = peripheral.begins(), if !told => {
                told = true;
                answer(&begun::line(zero_s))?;
            }
            () = peripheral.ended(), if !ended => {
                ended = true;
                answer("ended")?;
            }
            line = lines.recv() => match line {
                Some(line) => obey(&peripheral, line.trim()).await?,
                None => return Ok(()),
            },
        }
    }
}

async fn obey(peripheral: &Peripheral, line: &str) -> Result<(), Failure> {
    if line == "sent" {
        return peripheral.sent().iter().try_for_each(|sent| {
            answer(&format!("sent {} {} {}", sent.sensor, sent.notifications, sent.bytes))
        });
    }
    let fault = match line.parse::<Fault>() {
        Ok(fault) => fault,
        Err(error) => return answer(&format!("refused: {error}")),
    };
    match peripheral.obey(&fault).await {
        Ok(()) => answer("done"),
        Err(error) => answer(&format!("refused: {error}")),
    }
}

/// The lines of stdin. The thread that reads them cannot be interrupted; it ends with the program.
fn lines() -> mpsc::Receiver<String> {
    let (lines, read) = mpsc::channel(LINES);
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines().map_while(Result::ok) {
            if lines.blocking_send(line).is_err() {
                return;
            }
        }
    });
    read
}

fn answer(line: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    writeln!(out, "{line}").and_then(|()| out.flush()).map_err(Failure::Stdout)
}
