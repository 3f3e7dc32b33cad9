//! The radio as the commands use it: opened, or a sentence why not.

use std::time::Duration;

use tokio_util::sync::CancellationToken;

use crate::clock::Monotonic;
use crate::commands::run::said;
use crate::error::Failure;
use crate::profiles::Profiles;
use crate::source::Trouble;
use crate::source::ble::{Bluetooth, BluetoothRadio, Link, Opener, Radio, Seen};

/// How long a healthy Bluetooth service takes at most.
const PATIENCE: Duration = Duration::from_secs(5);
/// How often it is looked who was found.
const LOOK: Duration = Duration::from_millis(400);

/// Opens the radio; an adapter must be there and on.
pub(super) async fn open() -> Result<BluetoothRadio, Failure> {
    let opening = async {
        let radio = Bluetooth.open().await?;
        if radio.adapter().await? { Ok(radio) } else { Err(Trouble::Off) }
    };
    within(PATIENCE, opening).await.map_err(said)
}

/// Waits for a call, but not for ever.
pub(super) async fn within<T>(
    limit: Duration,
    call: impl Future<Output = Result<T, Trouble>>,
) -> Result<T, Trouble> {
    tokio::time::timeout(limit, call).await.unwrap_or(Err(Trouble::TimedOut))
}

/// Scans, and hands over every look at what is there, until `enough` says so, the time is over or
/// `stop`. The scan is stopped whatever happens.
pub(super) async fn scan(
    radio: &BluetoothRadio,
    limit: Duration,
    stop: &CancellationToken,
    mut enough: impl FnMut(&[Seen]) -> bool,
) -> Result<Vec<Seen>, Failure> {
    within(PATIENCE, radio.start_scan()).await.map_err(said)?;
    let clock = Monotonic::start();
    let mut ticks = tokio::time::interval(LOOK);
    let mut last = Ok(Vec::new());
    while clock.now_s() < limit.as_secs_f64() {
        tokio::select! {
            biased;
            () = stop.cancelled() => break,
            _ = ticks.tick() => {}
        }
        last = within(PATIENCE, radio.seen()).await;
        match &last {
            Ok(seen) if !enough(seen) => {}
            _ => break,
        }
    }
    if let Err(trouble) = within(PATIENCE, radio.stop_scan()).await {
        tracing::debug!(%trouble, "the scan did not stop");
    }
    last.map_err(said)
}

/// The device with an address, found by a scan where it is not known yet.
pub(super) async fn find(
    radio: &BluetoothRadio,
    address: &str,
    limit: Duration,
    stop: &CancellationToken,
) -> Result<Seen, Failure> {
    let is_it = |one: &Seen| one.address.eq_ignore_ascii_case(address);
    let seen = scan(radio, limit, stop, |seen| seen.iter().any(is_it)).await?;
    seen.into_iter().find(is_it).ok_or_else(|| {
        Failure::Said(format!(
            "{address} was not seen: switch it on, bring it near, and check the address with \
             'endarc sensors scan'"
        ))
    })
}

/// Leaves a device, whatever it says.
pub(super) async fn leave<L: Link>(link: &L) {
    if let Err(trouble) = within(PATIENCE, link.disconnect()).await {
        tracing::debug!(%trouble, "not left properly");
    }
}

/// The profiles, or a sentence why not.
pub(super) fn profiles() -> Result<Profiles, Failure> {
    Profiles::load().map_err(said)
}
