//! `org.bluez.Device1`: one sensor, as far as it is known without a connection, and the way to one.

use std::collections::HashMap;
use std::sync::Arc;

use zbus::{OwnedObjectPath, OwnedVariant, Variant, interface};

use super::error::Refusal;
use super::link;
use super::sensor::Sensor;
use super::world::{ADAPTER_PATH, World, lock};

/// The interface's name.
pub(super) const DEVICE: &str = "org.bluez.Device1";

/// Signal strength at the table's edge, dBm.
const RSSI_DBM: i16 = -55;

/// A sensor's object.
pub(super) struct Device {
    pub(super) world: Arc<World>,
    pub(super) sensor: Arc<Sensor>,
}

/// What becomes of a sensor that a scan hears: its object appears, or its signal strength changes.
pub(super) async fn heard(world: &Arc<World>, sensor: &Arc<Sensor>, round: i16) {
    let known = {
        let mut state = lock(&sensor.state);
        // Who is connected does not advertise.
        if state.connected || state.faults.away {
            return;
        }
        std::mem::replace(&mut state.known, true)
    };
    if known {
        world.tell(&sensor.path, DEVICE, "RSSI", RSSI_DBM + round - 3).await;
    } else if let Some(connection) = world.connection() {
        let device = Device { world: Arc::clone(world), sensor: Arc::clone(sensor) };
        // It fails only where the service is going down.
        connection.object_server().at(sensor.path.as_str(), device).await.ok();
    }
}

#[interface(name = "org.bluez.Device1")]
impl Device {
    async fn connect(&self) -> Result<(), Refusal> {
        link::connect(&self.world, &self.sensor).await
    }

    async fn disconnect(&self) -> Result<(), Refusal> {
        link::disconnect(&self.world, &self.sensor).await
    }

    #[zbus(property)]
    fn address(&self) -> &str {
        &self.sensor.address
    }

    #[zbus(property)]
    fn address_type(&self) -> &str {
        "random"
    }

    #[zbus(property)]
    fn name(&self) -> &str {
        &self.sensor.name
    }

    #[zbus(property)]
    fn alias(&self) -> &str {
        &self.sensor.name
    }

    #[zbus(property)]
    fn adapter(&self) -> Result<OwnedObjectPath, zbus::fdo::Error> {
        path(ADAPTER_PATH)
    }

    #[zbus(property, name = "UUIDs")]
    fn uuids(&self) -> Vec<String> {
        self.sensor.advertised.iter().map(ToString::to_string).collect()
    }

    #[zbus(property)]
    fn manufacturer_data(&self) -> Result<HashMap<u16, OwnedVariant>, zbus::fdo::Error> {
        let data = self.sensor.manufacturer.iter();
        let sent = data.map(|(company, bytes)| {
            let value = OwnedVariant::try_from(Variant::from(bytes.clone()))?;
            Ok((*company, value))
        });
        sent.collect()
    }

    #[zbus(property)]
    fn paired(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn bonded(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn trusted(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn blocked(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn legacy_pairing(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn connected(&self) -> bool {
        lock(&self.sensor.state).connected
    }

    #[zbus(property)]
    fn services_resolved(&self) -> bool {
        lock(&self.sensor.state).resolved
    }

    #[zbus(property, name = "RSSI")]
    fn rssi(&self) -> i16 {
        RSSI_DBM
    }
}

/// An object's path as a property's value.
pub(super) fn path(text: &str) -> Result<OwnedObjectPath, zbus::fdo::Error> {
    OwnedObjectPath::try_from(text).map_err(|error| zbus::fdo::Error::Failed(error.to_string()))
}
