//! `endarc sensors forget`: a sensor is worn nowhere any more.

use std::path::Path;

use super::known;
use crate::commands::run::said;
use crate::commands::stdio;
use crate::error::Failure;
use crate::folders;
use crate::store::{self, Write};

/// Take a sensor's assignment back
///
/// It is not connected any more. Visits it was worn in and its calibrations stay.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The sensor's address, or its name where no other sensor has it
    sensor: String,
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    let address = known::address(&data, &args.sensor)?;
    let write = Write::ForgetSensor { address: address.clone() };
    store::open(&data).map_err(said)?.save(&write).map_err(said)?;
    stdio::note(&format!("{address} is assigned to nothing any more"));
    Ok(())
}
