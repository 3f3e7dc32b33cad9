//! The process of `endarc demo --bluetooth` that hosts the sensors.
//!
//! A client of the message bus reads the bus's address from its environment, once; so the process
//! that measures is another one, and gets the address with it.

use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use endarc_simulator::peripheral::{Peripheral, Settings};
use endarc_simulator::{Scenario, Session as Simulation};
use tokio_util::sync::CancellationToken;

use super::Args;
use crate::commands::begun;
use crate::commands::peripheral::clock;
use crate::commands::run::{runtime, said};
use crate::error::Failure;
use crate::signals;

/// Hosts the sensors until the process that measures has ended.
pub(super) fn host(
    args: &Args,
    scenario: &Scenario,
    data_dir: Option<&Path>,
) -> Result<(), Failure> {
    runtime()?.block_on(hosted(args, scenario, data_dir))
}

async fn hosted(args: &Args, scenario: &Scenario, data_dir: Option<&Path>) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let session = Simulation::new(scenario);
    let peripheral =
        Peripheral::start(&session, Settings::default(), clock()).await.map_err(said)?;
    let mut measuring = start(args, data_dir, peripheral.address())?;
    let mut to_it = measuring.stdin.take();
    let mut ended = tokio::task::spawn_blocking(move || measuring.wait());
    let mut told = false;
    loop {
        tokio::select! {
            status = &mut ended => return outcome(status),
            zero_s = peripheral.begins(), if !told => {
                told = true;
                if let Some(to_it) = &mut to_it {
                    // Where it has ended already, that is heard next.
                    writeln!(to_it, "{}", begun::line(zero_s)).ok();
                }
            }
            // It stops when its stdin ends.
            () = stop.cancelled(), if to_it.is_some() => to_it = None,
        }
    }
}

fn start(args: &Args, data_dir: Option<&Path>, bus: &str) -> Result<Child, Failure> {
    let failed =
        |error| Failure::Said(format!("the process that measures cannot be started: {error}"));
    let program = std::env::current_exe().map_err(failed)?;
    let mut command = Command::new(program);
    command.args(["demo", "--over-bluetooth", "--scenario"]).arg(&args.scenario);
    let switches = [(args.open, "--open"), (args.json, "--json"), (args.live, "--live")];
    command.args(switches.iter().filter(|(on, _)| *on).map(|(_, name)| name));
    if let Some(folder) = data_dir {
        command.arg("--data-dir").arg(folder);
    }
    command.env("DBUS_SYSTEM_BUS_ADDRESS", bus).stdin(Stdio::piped()).spawn().map_err(failed)
}

/// What the process that measures came to; it has told its own failure.
fn outcome(
    status: Result<std::io::Result<std::process::ExitStatus>, tokio::task::JoinError>,
) -> Result<(), Failure> {
    match status {
        Ok(Ok(status)) if status.success() => Ok(()),
        Ok(Ok(status)) => Err(Failure::Said(format!("the process that measures ended: {status}"))),
        Ok(Err(error)) => Err(said(error)),
        Err(error) => Err(said(error)),
    }
}
