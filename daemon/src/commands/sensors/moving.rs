//! Which sensor moves: the way to be sure that the right one is meant.

use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use super::air;
use crate::clock::Monotonic;
use crate::commands::stdio::note;
use crate::error::Failure;
use crate::pipeline::queues;
use crate::profiles::Profiles;
use crate::source::ble::{BluetoothRadio, Radio, Seen};
use crate::source::{Decoder, LinkNews, News, Pace, SourceEvent, Worn, sensors};

/// How long it is waited for somebody to move a sensor.
const PATIENCE: Duration = Duration::from_secs(60);
/// A sensor that turns faster is being turned by a hand, rad/s: 90 °/s (our choice).
const TURNED_RAD_S: f64 = std::f64::consts::FRAC_PI_2;
/// So many samples in a row: no knock.
const SAMPLES: u32 = 10;

/// A sensor in sight that may be the one that moves.
struct Candidate {
    /// Stands for the sensor while it is told apart from the others; nothing is worn yet.
    slot: SensorRole,
    seen: Seen,
    turned: u32,
}

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
    let (mut candidates, mut worn) = (Vec::new(), Vec::new());
    for (&slot, (seen, profile)) in SensorRole::ALL.iter().zip(all) {
        let name = seen.name.clone();
        worn.push(Worn { role: slot, address: seen.address.clone(), name, profile });
        candidates.push(Candidate { slot, seen, turned: 0 });
    }
    note(&format!("Turn {} in the hand.", shown(meant)));
    let source = sensors(worn, endarc_protocol::words::TestKind::ProneHipRotation);
    let mut decoder = Decoder::new(&source.info().sensors);
    let (to_here, mut events) = mpsc::channel(queues::SOURCE);
    let stop = stop.child_token();
    let playing = tokio::spawn(source.play(Pace::REAL, Monotonic::start(), to_here, stop.clone()));
    let moved = tokio::time::timeout(PATIENCE, async {
        while let Some(stamped) = events.recv().await {
            if let Some(moved) = hear(&mut candidates, &mut decoder, &stamped.event) {
                if moved == meant.address {
                    return true;
                }
                note(&format!("{moved} moves: that is not {}", meant.address));
            }
        }
        false
    })
    .await;
    stop.cancel();
    // What still comes is not needed, but must not hold the source up.
    while events.recv().await.is_some() {}
    playing.await.map_err(crate::commands::run::said)?;
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

/// Takes an event; gives the address of a sensor that has just begun to turn.
fn hear(
    candidates: &mut [Candidate],
    decoder: &mut Decoder,
    event: &SourceEvent,
) -> Option<String> {
    let at = |candidates: &[Candidate], slot| candidates.iter().position(|one| one.slot == slot);
    if let SourceEvent::Link { role, news: LinkNews::State(news), .. } = event {
        let address = at(candidates, *role).and_then(|at| candidates.get(at))?;
        match news {
            News::Streaming => note(&format!("{}: connected", shown(&address.seen))),
            News::Failed(trouble) => note(&format!("{}: {trouble}", shown(&address.seen))),
            _ => {}
        }
        return None;
    }
    let mut moved = None;
    decoder.take(event, |role, sample| {
        let Some(one) = at(candidates, role).and_then(|at| candidates.get_mut(at)) else { return };
        one.turned = if turns(&sample) { one.turned.saturating_add(1) } else { 0 };
        if one.turned == SAMPLES {
            moved = Some(one.seen.address.clone());
        }
    });
    moved
}

fn turns(sample: &Sample) -> bool {
    let [x, y, z] = sample.gyro_rad_s;
    (x * x + y * y + z * z).sqrt() > TURNED_RAD_S
}

fn shown(seen: &Seen) -> String {
    match &seen.name {
        Some(name) => format!("{} ('{name}')", seen.address),
        None => seen.address.clone(),
    }
}
