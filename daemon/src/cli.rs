//! The command line: what can be asked, and how the answer ends.
//!
//! Exit status: 0 done, 1 failed with one message on stderr, 2 wrong usage. What a command answers
//! goes to stdout and nothing else does; notes and the log go to stderr.

use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use tracing_subscriber::EnvFilter;

use crate::commands::{self, analyse, check, demo, orient, simulate, test_sheets, visits};
use crate::error::Failure;

/// Environment variable that says how much is logged, e.g. `info` or `endarc=debug`.
const LOG_VARIABLE: &str = "ENDARC_LOG";

/// Measures hip rotation end range hands-free, and keeps the notebook.
///
/// It measures and documents; it does not diagnose, and it is not a medical device.
#[derive(Debug, Parser)]
#[command(name = "endarc", version, propagate_version = true, max_term_width = 100)]
#[command(after_help = "ENDARC_LOG=info (or debug) in the environment logs more to stderr.\n\
                        Exit status: 0 done, 1 failed, 2 wrong usage.")]
pub struct Cli {
    /// Folder that holds visits and settings [default: the user's data folder, then `endarc`]
    #[arg(long, global = true, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// What is to be done.
    #[command(subcommand)]
    pub command: Command,
}

/// What can be asked; each command has its own file in `commands`.
#[derive(Debug, Subcommand)]
#[expect(
    missing_docs,
    reason = "the help of a command stands at its options, and clap takes it there"
)]
pub enum Command {
    /// Walk through a visit on simulated sensors: no hardware is needed
    Demo(demo::Args),
    /// Record a visit, and show it on a page of this computer
    Run(commands::run::Args),
    Orient(orient::Args),
    Analyse(analyse::Args),
    Simulate(simulate::Args),
    Check(check::Args),
    Tests(test_sheets::Args),
    Sensors(commands::sensors::Args),
    Tables(commands::tables::Args),
    Visits(visits::Args),
    Export(commands::export::Args),
    Report(commands::report::Args),
    Import(commands::import::Args),
    Reanalyse(commands::reanalyse::Args),
    Desk(commands::desk::Args),
    #[cfg(target_os = "linux")]
    Peripheral(commands::peripheral::Args),
}

/// Runs the program on this process's arguments.
///
/// Wrong usage does not come back: the process ends with status 2 and the usage on stderr.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    start_log();
    match commands::run(&cli) {
        Ok(()) => ExitCode::SUCCESS,
        // Who read the answer has seen enough and closed the pipe: nothing failed.
        Err(failure) if failure.is_closed_pipe() => ExitCode::SUCCESS,
        Err(failure) => {
            tell(&failure);
            ExitCode::FAILURE
        }
    }
}

/// The one message of a failed command. Nothing is left to do where stderr is closed too.
fn tell(failure: &Failure) {
    writeln!(io::stderr(), "endarc: {}", failure.report()).ok();
}

/// Sends the log to stderr: warnings, or what `ENDARC_LOG` asks for.
fn start_log() {
    let (filter, refused) = match std::env::var(LOG_VARIABLE) {
        Ok(text) => match EnvFilter::try_new(&text) {
            Ok(filter) => (filter, None),
            Err(error) => (EnvFilter::new("warn"), Some(error)),
        },
        Err(_unset_or_not_text) => (EnvFilter::new("warn"), None),
    };
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(io::stderr().is_terminal())
        // Its own complaint about a closed stderr would be a panic.
        .log_internal_errors(false)
        .init();
    if let Some(error) = refused {
        tracing::warn!("{LOG_VARIABLE} is passed over ({error}): write e.g. info or endarc=debug");
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn options_do_not_contradict_each_other() {
        Cli::command().debug_assert();
    }

    #[test]
    fn the_data_folder_can_be_named_before_or_after_the_command() {
        for line in
            [["endarc", "--data-dir", "d", "visits"], ["endarc", "visits", "--data-dir", "d"]]
        {
            let cli = Cli::try_parse_from(line).unwrap();
            assert_eq!(cli.data_dir, Some(PathBuf::from("d")));
        }
    }

    #[test]
    fn an_unknown_word_names_what_is_allowed() {
        let line = "endarc analyse a.csv --events e.csv --side inner --test prone-hip-rotation";
        let error = Cli::try_parse_from(line.split(' ')).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        assert!(error.to_string().contains("left, right"), "{error}");
    }
}
