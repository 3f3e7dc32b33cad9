//! `endarc sensors`: the sensors that are known, and their calibration.

mod calibrate;
mod guide;
mod list;

use std::path::Path;

use clap::Subcommand;

use crate::error::Failure;

/// Calibrate sensors, and list those that are known
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Calibrate(calibrate::Args),
    List(list::Args),
}

/// Does it.
///
/// # Errors
/// When a recording is refused, or the data folder cannot be used.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    match &args.command {
        Command::Calibrate(args) => calibrate::run(args, data_dir),
        Command::List(args) => list::run(args, data_dir),
    }
}
