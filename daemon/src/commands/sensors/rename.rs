//! `endarc sensors rename`: what a sensor is called here.

use std::path::Path;

use super::known;
use crate::commands::run::said;
use crate::commands::stdio;
use crate::error::Failure;
use crate::folders;
use crate::store::{self, Write};

/// Call a sensor something of one's own
///
/// The name is for people; a sensor is always told apart by its address.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The sensor's address, or its name where no other sensor has it
    sensor: String,
    /// What it is called from now on; without, the name it gives itself
    #[arg(value_parser = name)]
    name: Option<String>,
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    let address = known::address(&data, &args.sensor)?;
    let write = Write::NameSensor { address: address.clone(), name: args.name.clone() };
    store::open(&data).map_err(said)?.save(&write).map_err(said)?;
    stdio::note(&match &args.name {
        Some(name) => format!("{address} is called '{name}' from now on"),
        None => format!("{address} is called what it calls itself"),
    });
    Ok(())
}

fn name(text: &str) -> Result<String, String> {
    let name = text.trim();
    match name.chars().count() {
        1..=64 => Ok(name.to_owned()),
        _ => Err("a name has 1 to 64 characters".to_owned()),
    }
}
