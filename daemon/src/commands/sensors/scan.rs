//! `endarc sensors scan`: which sensors are in sight.

use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::time::Duration;

use serde::Serialize;
use tokio_util::sync::CancellationToken;

use super::air;
use crate::commands::run::{runtime, said};
use crate::commands::stdio;
use crate::commands::table::Table;
use crate::error::Failure;
use crate::profiles::Profiles;
use crate::source::ble::Seen;
use crate::store::{ADDRESS_FILE, ReadError, Reader, SensorRecord};
use crate::{folders, signals};

/// Show which Bluetooth devices are in sight, strongest first
///
/// The list is live on a terminal. Signal strength is in dBm: closer to zero is nearer. The profile is
/// the one that fits what the device advertises; the battery is what an assigned sensor said when
/// it was last connected.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// How long to look, seconds; Ctrl-C ends it sooner
    #[arg(long, value_name = "S", default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=3600))]
    seconds: u64,
    /// Show devices that no profile fits, too
    #[arg(long)]
    all: bool,
    /// Scan although a visit is being recorded from this data folder
    #[arg(long)]
    anyway: bool,
    /// Print one JSON array at the end instead of a table
    #[arg(long)]
    json: bool,
}

/// One device of `endarc sensors scan --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct SeenJson {
    /// What tells it apart from every other device.
    address: String,
    /// The name it gives itself, or was given here.
    name: Option<String>,
    /// Signal strength, dBm.
    rssi_dbm: Option<i16>,
    /// The profile that fits what it advertises.
    profile: Option<String>,
    /// Where it is worn, if it is assigned.
    role: Option<String>,
    /// Its battery when it was last connected, percent.
    battery_percent: Option<u8>,
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    if data.join(ADDRESS_FILE).exists() && !args.anyway {
        return Err(Failure::Said(
            "a visit may be being recorded from this data folder, and a scan disturbs sensors that \
             send: end it first, or add --anyway"
                .to_owned(),
        ));
    }
    let profiles = air::profiles()?;
    let known = match Reader::open(&data).and_then(|reader| reader.sensors()) {
        Ok(known) => known,
        Err(ReadError::NoDatabase { .. } | ReadError::Older { .. }) => Vec::new(),
        Err(error) => return Err(said(error)),
    };
    let list = List { profiles, known, all: args.all };
    let seen = runtime()?.block_on(look(args, &list))?;
    let rows = list.rows(&seen);
    if args.json {
        return stdio::answer_json(&rows);
    }
    if rows.is_empty() {
        let more = if args.all { "" } else { "; --all shows devices that no profile fits" };
        stdio::note(&format!("no sensor is in sight: switch it on and bring it near{more}"));
        return Ok(());
    }
    stdio::answer(|out| table(&rows).write(out))
}

async fn look(args: &Args, list: &List) -> Result<Vec<Seen>, Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let radio = air::open().await?;
    let live = !args.json && io::stdout().is_terminal();
    let mut drawn = 0;
    let limit = Duration::from_secs(args.seconds);
    let seen = air::scan(&radio, limit, &stop, |seen| {
        if live {
            drawn = draw(&table(&list.rows(seen)), drawn);
        }
        false
    })
    .await?;
    if live {
        draw(&table(&[]), drawn);
    }
    Ok(seen)
}

/// Draws a table over the one before; gives its number of lines.
fn draw(table: &Table<6>, before: usize) -> usize {
    let mut text = Vec::new();
    // Into memory nothing fails, and a terminal that is gone shows nothing anyway.
    table.write(&mut text).ok();
    let mut out = io::stdout().lock();
    if before > 0 {
        write!(out, "\x1b[{before}A\x1b[J").ok();
    }
    let lines = text.iter().filter(|&&byte| byte == b'\n').count();
    out.write_all(&text).and_then(|()| out.flush()).ok();
    lines
}

fn table(rows: &[SeenJson]) -> Table<6> {
    let dash = || "–".to_owned();
    let mut table = Table::new(["address", "name", "signal", "profile", "worn as", "battery"]);
    for row in rows {
        table.push([
            row.address.clone(),
            row.name.clone().unwrap_or_else(|| unnamed(&row.address)),
            row.rssi_dbm.map_or_else(dash, |dbm| format!("{dbm} dBm")),
            row.profile.clone().unwrap_or_else(dash),
            row.role.clone().unwrap_or_else(dash),
            row.battery_percent.map_or_else(dash, |percent| format!("{percent} %")),
        ]);
    }
    table
}

/// What a device without a name is called.
fn unnamed(address: &str) -> String {
    let tail: Vec<char> = address.chars().rev().take(5).collect();
    format!("unnamed …{}", tail.iter().rev().collect::<String>())
}

/// What is listed.
struct List {
    profiles: Profiles,
    known: Vec<SensorRecord>,
    all: bool,
}

impl List {
    fn rows(&self, seen: &[Seen]) -> Vec<SeenJson> {
        let mut rows: Vec<SeenJson> = seen.iter().map(|one| self.row(one)).collect();
        rows.retain(|row| self.all || row.profile.is_some() || row.role.is_some());
        rows.sort_by_key(|row| (std::cmp::Reverse(row.rssi_dbm), row.address.clone()));
        rows
    }

    fn row(&self, seen: &Seen) -> SeenJson {
        let known = self.known.iter().find(|one| one.address.eq_ignore_ascii_case(&seen.address));
        SeenJson {
            address: seen.address.clone(),
            name: known.and_then(|one| one.name.clone()).or_else(|| seen.name.clone()),
            rssi_dbm: seen.rssi_dbm,
            profile: self.profiles.of(seen).map(|profile| profile.name().to_owned()),
            role: known.and_then(|one| one.role).map(|role| role.to_string()),
            battery_percent: known.and_then(|one| one.battery_percent),
        }
    }
}

#[cfg(test)]
mod tests {
    use endarc_protocol::profile::Profile;

    use super::*;

    /// H22 and H23: nameless devices, and two of the same name, are told apart by their addresses.
    #[test]
    fn every_device_is_listed_by_its_address_strongest_first() {
        let folder = tempfile::tempdir().unwrap();
        let profiles = Profiles::load_from(folder.path()).unwrap();
        let list = List { profiles, known: Vec::new(), all: true };
        let seen = |address: &str, name: Option<&str>, rssi_dbm| Seen {
            address: address.to_owned(),
            name: name.map(str::to_owned),
            rssi_dbm,
            services: Profile::reference().matching().service().into_iter().collect(),
            manufacturer: Vec::new(),
        };
        let devices = [
            seen("C0:00:00:00:A1:B2", None, None),
            seen("C0:00:00:00:00:01", Some("IMU"), Some(-80)),
            seen("C0:00:00:00:00:02", Some("IMU"), Some(-50)),
        ];
        let rows = list.rows(&devices);
        let addresses: Vec<&str> = rows.iter().map(|row| row.address.as_str()).collect();
        assert_eq!(addresses, ["C0:00:00:00:00:02", "C0:00:00:00:00:01", "C0:00:00:00:A1:B2"]);
        assert!(rows.iter().all(|row| row.profile.as_deref() == Some("reference")));
        assert_eq!(unnamed("C0:00:00:00:A1:B2"), "unnamed …A1:B2");
    }
}
