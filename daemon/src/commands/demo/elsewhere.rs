//! `endarc demo --bluetooth` where there is no Bluetooth service that can be stood in for.

use std::path::Path;

use endarc_simulator::Scenario;

use super::Args;
use crate::error::Failure;

/// Says what is missing.
pub(super) fn host(_: &Args, _: &Scenario, _: Option<&Path>) -> Result<(), Failure> {
    Err(Failure::Said(
        "--bluetooth stands in for the Bluetooth service of Linux and works only there: leave it out"
            .to_owned(),
    ))
}
