//! How a connection comes about, how it is lost, and how a sensor's object goes.

use std::sync::Arc;
use std::time::Duration;

use super::device::{DEVICE, Device};
use super::error::Refusal;
use super::sensor::Sensor;
use super::tree::Value;
use super::world::{World, lock};
use super::{gatt, signals};

/// From the call to the connection, of a sensor in reach.
const CONNECTING: Duration = Duration::from_millis(40);
/// From the connection until the services are known.
const RESOLVING: Duration = Duration::from_millis(60);
/// How long BlueZ goes on trying to reach a sensor that does not answer.
const TRYING: Duration = Duration::from_secs(40);

/// What BlueZ says of a connection that did not come about.
const ABORTED: &str = "le-connection-abort-by-local";

/// Connects, as BlueZ does: the answer comes with the connection, the services after it.
///
/// A sensor out of reach is waited for, whether or not the caller still waits: when it comes near
/// it is connected, and what was subscribed to before notifies again.
pub(super) async fn connect(world: &Arc<World>, sensor: &Arc<Sensor>) -> Result<(), Refusal> {
    if !world.adapter().powered {
        return Err(Refusal::NotReady("br-connection-adapter-not-powered".to_owned()));
    }
    {
        let mut state = lock(&sensor.state);
        if state.connected {
            return Err(Refusal::AlreadyConnected("Already Connected".to_owned()));
        }
        if std::mem::replace(&mut state.connecting, true) {
            return Err(Refusal::InProgress("Operation already in progress".to_owned()));
        }
    }
    let established = establish(world, sensor).await;
    lock(&sensor.state).connecting = false;
    established?;
    tokio::spawn(resolve(Arc::clone(world), Arc::clone(sensor)));
    Ok(())
}

async fn establish(world: &World, sensor: &Sensor) -> Result<(), Refusal> {
    let aborted = || Refusal::Failed(ABORTED.to_owned());
    let waited = in_reach(sensor).await.ok_or_else(aborted)?;
    tokio::time::sleep(CONNECTING).await;
    let refused = {
        let mut state = lock(&sensor.state);
        // Given up meanwhile, or the adapter or bluetoothd is gone.
        if !state.connecting || !world.adapter().powered {
            return Err(aborted());
        }
        state.connected = true;
        if !waited {
            state.notifying.clear();
        }
        let refused = state.faults.refuse > 0;
        state.faults.refuse = state.faults.refuse.saturating_sub(1);
        refused
    };
    world.tell(&sensor.path, DEVICE, "Connected", true).await;
    if refused {
        lose(world, sensor).await;
        return Err(aborted());
    }
    Ok(())
}

/// Waits for a sensor to be in reach, and says whether it had to; `None` when given up.
async fn in_reach(sensor: &Sensor) -> Option<bool> {
    let mut waited = false;
    loop {
        let bell = sensor.bell.notified();
        {
            let state = lock(&sensor.state);
            if !state.connecting {
                return None;
            }
            if !state.faults.away {
                return Some(waited);
            }
        }
        waited = true;
        tokio::time::timeout(TRYING, bell).await.ok()?;
    }
}

async fn resolve(world: Arc<World>, sensor: Arc<Sensor>) {
    tokio::time::sleep(RESOLVING).await;
    if !lock(&sensor.state).connected {
        return;
    }
    // It fails only where the service is going down.
    if gatt::serve(&world, &sensor).await.is_ok() {
        lock(&sensor.state).resolved = true;
        world.tell(&sensor.path, DEVICE, "ServicesResolved", true).await;
    }
}

/// Ends a connection, or an attempt at one, at the client's wish.
pub(super) async fn disconnect(world: &World, sensor: &Sensor) -> Result<(), Refusal> {
    let trying = std::mem::take(&mut lock(&sensor.state).connecting);
    sensor.bell.notify_waiters();
    if lose(world, sensor).await || trying {
        return Ok(());
    }
    Err(Refusal::NotConnected("Not Connected".to_owned()))
}

/// The link is lost; says whether there was one.
pub(super) async fn lose(world: &World, sensor: &Sensor) -> bool {
    if !sensor.unlink() {
        return false;
    }
    world.tell(&sensor.path, DEVICE, "ServicesResolved", false).await;
    world.tell(&sensor.path, DEVICE, "Connected", false).await;
    true
}

/// The battery's level is another: whoever has subscribed to it is told.
pub(super) async fn set_battery(world: &World, sensor: &Sensor, percent: u8) {
    lock(&sensor.state).battery_percent = percent;
    for one in sensor.characteristics().filter(|one| one.value == Value::Battery) {
        let told = {
            let state = lock(&sensor.state);
            state.connected && state.notifying.contains(&one.path)
        };
        if told && let Ok(message) = signals::notification(&one.path, &[percent]) {
            world.send(&message).await;
        }
    }
}

/// The sensor's object goes, with all below it.
pub(super) async fn remove(world: &World, sensor: &Sensor) {
    lose(world, sensor).await;
    if let Some(connection) = world.connection() {
        // Both fail only where the service is going down: then they are gone too.
        gatt::withdraw(&connection, sensor).await.ok();
        connection.object_server().remove::<Device, _>(sensor.path.as_str()).await.ok();
    }
    sensor.forget();
}
