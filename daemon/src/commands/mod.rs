//! One file per command: its options, and what it does.
//!
//! A command reads files, calls the crates that know, and writes its answer; it holds no knowledge
//! of its own about angles, storage or sensors.

pub mod analyse;
mod arguments;
mod begun;
mod browser;
pub mod check;
mod comparison;
pub mod demo;
pub mod desk;
pub mod export;
pub mod import;
mod input;
pub mod leg_shapes;
mod leg_text;
pub mod orient;
mod pace;
#[cfg(target_os = "linux")]
pub mod peripheral;
pub mod reanalyse;
mod reanalysed;
pub mod report;
pub mod run;
pub mod sensors;
pub mod shapes;
pub mod simulate;
mod stdio;
mod study_file;
mod table;
pub mod tables;
mod telling;
pub mod test_sheets;
pub mod visits;

use crate::cli::{Cli, Command};
use crate::error::Failure;

/// Does what was asked.
///
/// # Errors
/// The [`Failure`] that is told on stderr.
pub fn run(cli: &Cli) -> Result<(), Failure> {
    match &cli.command {
        Command::Demo(args) => demo::run(args, cli.data_dir.as_deref()),
        Command::Run(args) => run::run(args, cli.data_dir.as_deref()),
        Command::Orient(args) => orient::run(args),
        Command::Analyse(args) => analyse::run(args),
        Command::Simulate(args) => simulate::run(args),
        Command::Check(args) => check::run(args, cli.data_dir.as_deref()),
        Command::Tests(args) => test_sheets::run(args),
        Command::Sensors(args) => sensors::run(args, cli.data_dir.as_deref()),
        #[cfg(target_os = "linux")]
        Command::Peripheral(args) => peripheral::run(args),
        Command::Report(args) => report::run(args, cli.data_dir.as_deref()),
        Command::Tables(args) => tables::run(args, cli.data_dir.as_deref()),
        Command::Export(args) => export::run(args, cli.data_dir.as_deref()),
        Command::Import(args) => import::run(args, cli.data_dir.as_deref()),
        Command::Reanalyse(args) => reanalyse::run(args, cli.data_dir.as_deref()),
        Command::Desk(args) => desk::run(args, cli.data_dir.as_deref()),
        Command::Visits(args) => visits::run(args, cli.data_dir.as_deref()),
    }
}
