//! Which sensor moves: the way to be sure that the right one is meant.

use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::profile::Profile;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::air;
use crate::clock::Monotonic;
use crate::commands::stdio::note;
use crate::error::Failure;
use crate::fitting::moving::{Heard, Moving};
use crate::pipeline::queues;
use crate::profiles::Profiles;
use crate::source::ble::{self, Bluetooth, BluetoothRadio, Radio, Seen, Timeline};

/// How long it is waited for somebody to move a sensor.
const PATIENCE: Duration = Duration::from_secs(60);

/// Waits until the sensor that is meant is turned in the hand, and says so where another is.
pub(super) async fn confirm(
    radio: &BluetoothRadio,
    meant: &Seen,
    profile: &Arc<Profile>,
    profiles: &Profiles,
    stop: &CancellationToken,
) -> Result<(), Failure> {
    let others = air::within(Duration::from_secs(5), radio.seen()).await.unwrap_or_default();
    let others = others.into_iter().filter(|one| one.address != meant.address);
    let others = others.filter_map(|one| profiles.of(&one).map(|profile| (one, profile)));
    let all = std::iter::once((meant.clone(), Arc::clone(profile))).chain(others);
    let (mut moving, wanted) = Moving::new(all);
    note(&format!("Turn {} in the hand.", shown(meant)));
    let (to_here, mut events) = mpsc::channel(queues::SOURCE);
    let stop = stop.child_token();
    let timeline = Timeline::new(Monotonic::start());
    let running = tokio::spawn(ble::run(Bluetooth, wanted, timeline, to_here, stop.clone()));
    let moved = tokio::time::timeout(PATIENCE, async {
        while let Some(stamped) = events.recv().await {
            match moving.hear(&stamped.event) {
                Some(Heard::Streams(seen)) => note(&format!("{}: connected", shown(&seen))),
                Some(Heard::Fails(seen, trouble)) => note(&format!("{}: {trouble}", shown(&seen))),
                Some(Heard::Moves(seen)) if seen.address == meant.address => return true,
                Some(Heard::Moves(seen)) => {
                    note(&format!("{} moves: that is not {}", seen.address, meant.address));
                }
                None => {}
            }
        }
        false
    })
    .await;
    stop.cancel();
    // What still comes is not needed, but must not hold the radio up.
    while events.recv().await.is_some() {}
    running.await.map_err(crate::commands::run::said)?.say().await;
    match moved {
        Ok(true) => Ok(()),
        Ok(false) => Err(Failure::Said("stopped: nothing was assigned".to_owned())),
        Err(_elapsed) => Err(Failure::Said(format!(
            "{} was not moved within {} s: nothing was assigned (--unconfirmed assigns it without)",
            meant.address,
            PATIENCE.as_secs()
        ))),
    }
}

fn shown(seen: &Seen) -> String {
    match &seen.name {
        Some(name) => format!("{} ('{name}')", seen.address),
        None => seen.address.clone(),
    }
}
