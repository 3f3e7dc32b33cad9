//! `endarc check`: what recording needs, one line each, with the remedy.

mod adapter;
mod clock;
mod database;
mod folder;
mod live;
mod profiles;

use std::fmt;
use std::path::Path;

use super::stdio;
use crate::error::Failure;
use crate::folders;

/// Check what recording needs: Bluetooth, folders, database, disk, clock
///
/// One line each: what was checked, `ok`, `note` or `FAILS`, and what to do. `FAILS` (exit
/// status 1) means that a visit could not be kept: its folder, database, disk or a profile file.
/// Missing Bluetooth is a `note`: simulated and recorded sources, visits and exports work without.
///
/// With --live it asks the daemon that is recording instead: how long the data's way takes, what it
/// costs, and what became of each sensor's samples.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Ask the running daemon how it is doing
    #[arg(long)]
    live: bool,
    /// Print what it says as JSON
    #[arg(long, requires = "live")]
    json: bool,
}

/// How one check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    /// Nothing to do.
    Ok,
    /// Something to know; a visit can be kept all the same.
    Note,
    /// A visit could not be kept.
    Fails,
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Ok => "ok",
            Self::Note => "note",
            Self::Fails => "FAILS",
        })
    }
}

/// One line of the answer.
#[derive(Debug)]
struct Finding {
    what: &'static str,
    state: State,
    /// What was found and, unless it is well, the remedy.
    text: String,
}

impl Finding {
    fn ok(what: &'static str, text: impl Into<String>) -> Self {
        Self::new(what, State::Ok, text)
    }

    fn note(what: &'static str, text: impl Into<String>) -> Self {
        Self::new(what, State::Note, text)
    }

    fn fails(what: &'static str, text: impl Into<String>) -> Self {
        Self::new(what, State::Fails, text)
    }

    fn new(what: &'static str, state: State, text: impl Into<String>) -> Self {
        let text = text.into();
        Self { what, state, text }
    }
}

/// Does it.
///
/// # Errors
/// When a check fails, after all lines were printed.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(|error| Failure::Said(error.to_string()))?;
    if args.live {
        return live::report(&data, args.json);
    }
    let findings = [
        adapter::check(),
        folder::permissions(&data),
        profiles::check(),
        database::check(&data),
        folder::disk(&data),
        clock::check(&crate::clock::wall()),
    ];
    stdio::answer(|out| {
        for Finding { what, state, text } in &findings {
            writeln!(out, "{what:<11}  {state:<5}  {text}")?;
        }
        Ok(())
    })?;
    let failed = findings.iter().filter(|one| one.state == State::Fails);
    let failed: Vec<_> = failed.map(|one| one.what).collect();
    if failed.is_empty() {
        return Ok(());
    }
    Err(Failure::Said(format!(
        "a visit could not be kept here: see above under {}",
        failed.join(", ")
    )))
}
