//! The connection to the bus that bears the name `org.bluez`, and what stands on it.

use std::sync::Arc;

use super::adapter::Adapter;
use super::error::PeripheralError;
use super::link;
use super::world::{ADAPTER_PATH, World, lock};

/// bluetoothd starts: no sensor is known yet.
pub(super) async fn start(world: &Arc<World>, address: &str) -> Result<(), PeripheralError> {
    let build = async {
        let builder = zbus::connection::Builder::address(address);
        let builder = builder.serve_at("/", zbus::fdo::ObjectManager);
        let builder = if world.adapter().plugged {
            builder.serve_at(ADAPTER_PATH, Adapter(Arc::clone(world)))
        } else {
            builder
        };
        builder.name("org.bluez").build().await
    };
    let connection = build.await.map_err(PeripheralError::Service)?;
    *lock(&world.connection) = Some(connection);
    Ok(())
}

/// bluetoothd ends: nobody is told anything, its name is gone and all it knew with it.
pub(super) async fn end(world: &World) {
    let connection = lock(&world.connection).take();
    if let Some(connection) = connection {
        // A connection that cannot be closed is closed.
        connection.close().await.ok();
    }
    lock(&world.adapter).discovering = false;
    for sensor in &world.sensors {
        sensor.forget();
        sensor.bell.notify_waiters();
    }
}

/// The bus reads its configuration again. Without a connection nobody is there to ask it to.
pub(super) async fn reload_bus(world: &World) -> Result<(), PeripheralError> {
    const BUS: &str = "org.freedesktop.DBus";
    if let Some(connection) = world.connection() {
        let path = "/org/freedesktop/DBus";
        let reloaded =
            connection.call_method(Some(BUS), path, Some(BUS), "ReloadConfig", &()).await;
        reloaded.map_err(PeripheralError::Service)?;
    }
    Ok(())
}

/// The adapter is pulled out: its object goes, with all below it.
pub(super) async fn unplug(world: &Arc<World>) {
    lock(&world.adapter).plugged = false;
    lock(&world.adapter).discovering = false;
    for sensor in &world.sensors {
        link::remove(world, sensor).await;
    }
    if let Some(connection) = world.connection() {
        // It fails only where the service is going down.
        connection.object_server().remove::<Adapter, _>(ADAPTER_PATH).await.ok();
    }
}

/// The adapter is put in again.
pub(super) async fn plug(world: &Arc<World>) {
    {
        let mut adapter = lock(&world.adapter);
        adapter.plugged = true;
        adapter.powered = true;
    }
    if let Some(connection) = world.connection() {
        // It fails only where the service is going down.
        connection.object_server().at(ADAPTER_PATH, Adapter(Arc::clone(world))).await.ok();
    }
}
