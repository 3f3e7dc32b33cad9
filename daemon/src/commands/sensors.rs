//! `endarc sensors`: the sensors that are known, where they are worn, and their calibration.

mod air;
mod assign;
mod calibrate;
mod draft;
mod forget;
mod guide;
mod known;
mod list;
mod moving;
mod page;
mod probe;
mod rename;
mod scan;

use std::path::Path;

use clap::Subcommand;

use crate::error::Failure;

/// Find sensors, say where they are worn, calibrate them, and list those that are known
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Scan(scan::Args),
    Probe(probe::Args),
    Assign(assign::Args),
    List(list::Args),
    Rename(rename::Args),
    Forget(forget::Args),
    Page(page::Args),
    Calibrate(calibrate::Args),
}

/// Does it.
///
/// # Errors
/// When a recording is refused, or the data folder cannot be used.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    match &args.command {
        Command::Assign(args) => assign::run(args, data_dir),
        Command::Calibrate(args) => calibrate::run(args, data_dir),
        Command::Forget(args) => forget::run(args, data_dir),
        Command::List(args) => list::run(args, data_dir),
        Command::Page(args) => page::run(args, data_dir),
        Command::Probe(args) => probe::run(args),
        Command::Rename(args) => rename::run(args, data_dir),
        Command::Scan(args) => scan::run(args, data_dir),
    }
}
