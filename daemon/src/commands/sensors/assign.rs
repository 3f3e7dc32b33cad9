//! `endarc sensors assign`: which sensor is worn where.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use endarc_protocol::profile::Profile;
use endarc_protocol::words::SensorRole;
use tokio_util::sync::CancellationToken;

use super::{air, moving};
use crate::commands::run::{runtime, said};
use crate::commands::stdio;
use crate::error::Failure;
use crate::profiles::Profiles;
use crate::source::ble::Seen;
use crate::store::{self, Assignment, Write};
use crate::{clock, folders, signals};

/// How long the sensor is looked for.
const FIND: Duration = Duration::from_secs(15);

/// Say where a sensor is worn, and confirm it by moving the sensor
///
/// The sensor is bound by its address, never by its name, and stays bound until it is assigned
/// elsewhere or forgotten. To confirm, turn it in the hand: the sensors in sight whose profile is
/// known are connected, and the one that moves is named. Nothing is kept unless it is the one that
/// was meant.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The sensor's address, as `endarc sensors scan` shows it
    address: String,
    /// Where it is worn
    #[arg(value_parser = role_parser())]
    role: SensorRole,
    /// The profile its frames are read with [default: the one that fits what it advertises]
    #[arg(long, value_name = "NAME")]
    profile: Option<String>,
    /// Keep it without moving the sensor
    #[arg(long)]
    unconfirmed: bool,
}

fn role_parser() -> impl TypedValueParser<Value = SensorRole> {
    let words = SensorRole::ALL.iter().map(|word| word.as_str());
    PossibleValuesParser::new(words).try_map(|text| text.parse::<SensorRole>())
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    let profiles = air::profiles()?;
    let (seen, profile) = runtime()?.block_on(confirmed(args, &profiles))?;
    let assignment = Assignment {
        role: args.role,
        address: seen.address.clone(),
        name: seen.name,
        profile: profile.name().to_owned(),
        assigned_at: clock::wall().timestamp(),
    };
    store::open(&data).map_err(said)?.save(&Write::Assign(assignment)).map_err(said)?;
    stdio::note(&format!(
        "{} is worn as {} from now on, read with profile '{}'",
        seen.address,
        args.role,
        profile.name()
    ));
    Ok(())
}

async fn confirmed(args: &Args, profiles: &Profiles) -> Result<(Seen, Arc<Profile>), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let radio = air::open().await?;
    let seen = air::find(&radio, &args.address, FIND, &stop).await?;
    let profile = profile(args, &seen, profiles)?;
    if !args.unconfirmed {
        moving::confirm(&radio, &seen, &profile, profiles, &stop).await?;
    }
    Ok((seen, profile))
}

fn profile(args: &Args, seen: &Seen, profiles: &Profiles) -> Result<Arc<Profile>, Failure> {
    let known = || profiles.names().collect::<Vec<_>>().join(", ");
    match &args.profile {
        Some(name) => profiles.named(name).ok_or_else(|| {
            Failure::Said(format!("there is no profile '{name}': those known are {}", known()))
        }),
        None => profiles.of(seen).ok_or_else(|| {
            Failure::Said(format!(
                "no profile fits what {} advertises (known: {}): name one with --profile, or write \
                 one from 'endarc sensors probe {}'",
                seen.address,
                known(),
                seen.address
            ))
        }),
    }
}
