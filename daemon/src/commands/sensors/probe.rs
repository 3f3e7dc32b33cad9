//! `endarc sensors probe`: what a device offers, and what it sends.

use std::io::{self, Write};
use std::time::Duration;

use futures::StreamExt;
use tokio_util::sync::CancellationToken;

use super::air;
use super::draft::{self, Heard};
use crate::clock::Monotonic;
use crate::commands::run::{runtime, said};
use crate::commands::stdio;
use crate::error::Failure;
use crate::signals;
use crate::source::Trouble;
use crate::source::ble::{BluetoothLink, Characteristic, Link, Notification, Place, Radio, Seen};

/// How long the device is looked for.
const FIND: Duration = Duration::from_secs(15);
/// How long connecting may take.
const CONNECT: Duration = Duration::from_secs(15);
/// How long any other call may take.
const CALL: Duration = Duration::from_secs(10);
/// So many notifications of each characteristic are shown.
const SHOWN: usize = 5;

/// Connect a device and show its services, what it sends, and a profile to start from
///
/// Nothing is written to it: a sensor that sends only when it is told to shows no notifications here.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The device's address, as `endarc sensors scan --all` shows it
    address: String,
    /// How long to listen, seconds
    #[arg(long, value_name = "S", default_value_t = 5, value_parser = clap::value_parser!(u64).range(1..=600))]
    seconds: u64,
    /// Write these bytes to a characteristic first, as in UUID=01FF, so that it begins to send
    #[arg(long, value_name = "UUID=HEX", value_parser = write)]
    write: Vec<(uuid::Uuid, Vec<u8>)>,
}

/// What was found.
struct Probed {
    seen: Seen,
    offered: Vec<Characteristic>,
    heard: Vec<Heard>,
}

pub(super) fn run(args: &Args) -> Result<(), Failure> {
    let probed = runtime()?.block_on(probe(args))?;
    stdio::answer(|out| tell(out, &probed))
}

async fn probe(args: &Args) -> Result<Probed, Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let radio = air::open().await?;
    let seen = air::find(&radio, &args.address, FIND, &stop).await?;
    let link = air::within(CALL, radio.link(&seen.address)).await.map_err(said)?;
    let link = link.ok_or_else(|| said(Trouble::NotSeen))?;
    stdio::note(&format!("connecting {}, then listening for {} s", seen.address, args.seconds));
    let heard = listen(args, &link, &stop).await;
    air::leave(&link).await;
    let (offered, heard) = heard.map_err(said)?;
    Ok(Probed { seen, offered, heard })
}

async fn listen(
    args: &Args,
    link: &BluetoothLink,
    stop: &CancellationToken,
) -> Result<(Vec<Characteristic>, Vec<Heard>), Trouble> {
    air::within(CONNECT, link.connect()).await?;
    let offered = air::within(CALL, link.discover()).await?;
    let mut stream = air::within(CALL, link.notifications()).await?;
    for one in offered.iter().filter(|one| one.notifies) {
        let place = Place { service: Some(one.service), characteristic: one.uuid };
        if let Err(trouble) = air::within(CALL, link.subscribe(place)).await {
            stdio::note(&format!("{}: not subscribed: {trouble}", one.uuid));
        }
    }
    for (characteristic, bytes) in &args.write {
        let place = Place { service: None, characteristic: *characteristic };
        let confirmed = offered.iter().any(|one| one.uuid == *characteristic && one.writable);
        air::within(CALL, link.write(place, bytes, confirmed)).await?;
    }
    let clock = Monotonic::start();
    let mut heard: Vec<Heard> = Vec::new();
    let listening = async {
        while let Some(Notification { service, characteristic, bytes }) = stream.next().await {
            let at_s = clock.now_s();
            let is_it =
                |one: &&mut Heard| one.service == service && one.characteristic == characteristic;
            match heard.iter_mut().find(is_it) {
                Some(one) => one.notifications.push((at_s, bytes)),
                None => {
                    heard.push(Heard {
                        service,
                        characteristic,
                        notifications: vec![(at_s, bytes)],
                    });
                }
            }
        }
    };
    tokio::select! {
        () = stop.cancelled() => {}
        () = tokio::time::sleep(Duration::from_secs(args.seconds)) => {}
        () = listening => {}
    }
    Ok((offered, heard))
}

fn tell(out: &mut dyn Write, probed: &Probed) -> io::Result<()> {
    let Probed { seen, offered, heard } = probed;
    writeln!(out, "{} {}", seen.address, seen.name.as_deref().unwrap_or("without a name"))?;
    let mut services: Vec<uuid::Uuid> = offered.iter().map(|one| one.service).collect();
    services.sort_unstable();
    services.dedup();
    for service in services {
        writeln!(out, "service {service}")?;
        for one in offered.iter().filter(|one| one.service == service) {
            writeln!(out, "  characteristic {}  {}", one.uuid, properties(one))?;
        }
    }
    for one in heard {
        writeln!(out, "\n{}: {} notifications", one.characteristic, one.notifications.len())?;
        if let Some(rate_hz) = one.rate_hz() {
            writeln!(out, "  {rate_hz:.1} a second")?;
        }
        for (length, count) in one.lengths() {
            writeln!(out, "  {length} bytes: {count} times")?;
        }
        for (at_s, bytes) in one.notifications.iter().take(SHOWN) {
            writeln!(out, "  {at_s:7.3} s  {}", draft::hex(bytes))?;
        }
    }
    if heard.is_empty() {
        writeln!(out, "\nIt sent nothing: it may have to be told to (--write UUID=HEX).")?;
    }
    match draft::draft(seen.name.as_deref(), &seen.services, heard) {
        Some(text) => write!(out, "\n{text}"),
        None => Ok(()),
    }
}

fn properties(one: &Characteristic) -> String {
    let has = [
        (one.readable, "read"),
        (one.writable, "write"),
        (one.commandable, "write without response"),
        (one.notifies, "notify"),
    ];
    let has: Vec<&str> = has.into_iter().filter(|(is, _)| *is).map(|(_, word)| word).collect();
    has.join(", ")
}

fn write(text: &str) -> Result<(uuid::Uuid, Vec<u8>), String> {
    let (uuid, digits) = text.split_once('=').ok_or("write UUID=HEX, as in …=01")?;
    let uuid = uuid.parse().map_err(|error| format!("{error}"))?;
    let digits: Vec<char> = digits.chars().filter(|letter| !letter.is_whitespace()).collect();
    let byte = |pair: &[char]| {
        let pair: String = pair.iter().collect();
        match pair.len() {
            2 => u8::from_str_radix(&pair, 16).map_err(|error| format!("'{pair}': {error}")),
            _ => Err("bytes have two hexadecimal digits each".to_owned()),
        }
    };
    Ok((uuid, digits.chunks(2).map(byte).collect::<Result<_, _>>()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_to_write_are_named_with_their_characteristic() {
        let uuid = "30b4d252-f415-464f-9227-b059c98730d7";
        let (parsed, bytes) = write(&format!("{uuid}=02 64 00")).unwrap();
        assert_eq!(parsed.to_string(), uuid);
        assert_eq!(bytes, [2, 100, 0]);
        for wrong in ["01", "x=01", &format!("{uuid}=1"), &format!("{uuid}=0g")] {
            assert!(write(wrong).is_err(), "{wrong}");
        }
    }
}
