//! `endarc simulate`: a recording of a simulated person, with the truth beside it.

use std::path::{Path, PathBuf};

use endarc_protocol::profile::Profile;
use endarc_simulator::{Scenario, Session, files};

use super::input;
use crate::error::Failure;
use crate::output::{Existing, Folder};

/// The word for the scenario that ships with the program.
pub(super) const CLINIC: &str = "clinic";

/// The word for the profile that ships with the program.
const REFERENCE: &str = "reference";

/// Make a recording of a simulated person, with the truth beside it
///
/// DIR gets one Motion CSV per sensor (left-shank.csv, right-shank.csv, pelvis.csv), events.csv
/// and truth.json, all on one clock. The same scenario gives the same bytes.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Who, with which sensors, and what is done; `clinic` is the one that ships with the program
    #[arg(value_name = "SCENARIO.toml")]
    scenario: PathBuf,
    /// The folder to make; one that holds something is refused
    #[arg(long, value_name = "DIR")]
    output: PathBuf,
    /// Also what the sensors send: 0.frames, … and sensors.csv, written by this sensor profile
    /// (`reference` is the one that ships with the program)
    #[arg(long, value_name = "PROFILE.toml")]
    frames: Option<PathBuf>,
    /// Give up what DIR holds, and put the new folder in its place
    #[arg(long)]
    replace: bool,
}

/// Does it.
///
/// # Errors
/// When the scenario or profile is refused, or the folder cannot be made.
pub fn run(args: &Args) -> Result<(), Failure> {
    let scenario = scenario(&args.scenario)?;
    let profile = args.frames.as_deref().map(profile).transpose()?;
    let existing = if args.replace { Existing::Replace } else { Existing::Refuse };
    let folder = Folder::create(&args.output, existing)?;
    for (name, bytes) in files(&Session::new(&scenario), profile.as_ref()) {
        folder.write(&name, &bytes)?;
    }
    Ok(folder.finish()?)
}

/// The scenario that a file, or the word `clinic`, names.
pub(super) fn scenario(path: &Path) -> Result<Scenario, Failure> {
    if path == Path::new(CLINIC) {
        return Ok(Scenario::clinic());
    }
    Scenario::parse(&path.to_string_lossy(), &input::text(path)?)
        .map_err(|error| Failure::Said(error.to_string()))
}

/// The profile that a file, or the word `reference`, names.
pub(super) fn profile(path: &Path) -> Result<Profile, Failure> {
    if path == Path::new(REFERENCE) {
        return Ok(Profile::reference());
    }
    Profile::parse(&path.to_string_lossy(), &input::text(path)?)
        .map_err(|error| Failure::Said(error.to_string()))
}
