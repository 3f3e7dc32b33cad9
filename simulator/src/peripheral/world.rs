//! Everything that the interfaces, the links and the feeder share.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use zbus::{Connection, Message, Variant};

use super::sensor::Sensor;
use super::signals;

/// The adapter's object, as BlueZ names the first one.
pub(super) const ADAPTER_PATH: &str = "/org/bluez/hci0";

/// The peripheral's world: its sensors, its adapter, and the way to the bus.
#[derive(Debug)]
pub(super) struct World {
    pub(super) sensors: Vec<Arc<Sensor>>,
    pub(super) adapter: Mutex<AdapterState>,
    /// None while bluetoothd is gone.
    pub(super) connection: Mutex<Option<Connection>>,
}

/// The adapter's state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct AdapterState {
    pub(super) plugged: bool,
    pub(super) powered: bool,
    pub(super) discovering: bool,
}

impl World {
    pub(super) const fn new(sensors: Vec<Arc<Sensor>>) -> Self {
        let adapter = AdapterState { plugged: true, powered: true, discovering: false };
        Self { sensors, adapter: Mutex::new(adapter), connection: Mutex::new(None) }
    }

    /// The way to the bus, where bluetoothd is there.
    pub(super) fn connection(&self) -> Option<Connection> {
        lock(&self.connection).clone()
    }

    /// The adapter's state now.
    pub(super) fn adapter(&self) -> AdapterState {
        *lock(&self.adapter)
    }

    /// Sends a signal; says whether it went out.
    pub(super) async fn send(&self, message: &Message) -> bool {
        match self.connection() {
            Some(connection) => connection.send(message).await.is_ok(),
            None => false,
        }
    }

    /// Tells everybody a property's new value. Where the bus is gone nobody hears it, as it should
    /// be.
    pub(super) async fn tell(
        &self,
        path: &str,
        interface: &str,
        property: &str,
        value: impl Into<Variant<'_>>,
    ) {
        if let Ok(message) = signals::changed(path, interface, property, value.into()) {
            self.send(&message).await;
        }
    }

    /// The sensor behind an object's path.
    pub(super) fn sensor_at(&self, path: &str) -> Option<Arc<Sensor>> {
        self.sensors.iter().find(|sensor| sensor.path == path).cloned()
    }
}

/// Locks what no panic can have left half done: every change is one assignment.
pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
