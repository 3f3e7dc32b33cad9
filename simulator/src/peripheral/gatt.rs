//! `org.bluez.GattService1`, `GattCharacteristic1` and `GattDescriptor1`: what a connected sensor
//! offers.

use std::collections::HashMap;
use std::sync::Arc;

use endarc_protocol::gatt::assigned;
use zbus::{Connection, OwnedObjectPath, OwnedVariant, interface};

use super::device::path;
use super::error::Refusal;
use super::sensor::Sensor;
use super::tree::{self, Value};
use super::world::{World, lock};

/// The interface's name.
pub(super) const CHARACTERISTIC: &str = "org.bluez.GattCharacteristic1";

/// Client Characteristic Configuration (Bluetooth Assigned Numbers, 3.7).
const CONFIGURATION: u16 = 0x2902;

/// Puts the objects of a sensor's services on the bus, unless they are there: BlueZ keeps them
/// for as long as it knows the sensor.
pub(super) async fn serve(world: &Arc<World>, sensor: &Arc<Sensor>) -> zbus::Result<()> {
    let Some(connection) = world.connection() else {
        return Ok(());
    };
    if std::mem::replace(&mut lock(&sensor.state).served, true) {
        return Ok(());
    }
    let server = connection.object_server();
    for service in &sensor.services {
        let device = sensor.path.clone();
        let object = Service { uuid: service.uuid.to_string(), device };
        server.at(service.path.as_str(), object).await?;
        for one in &service.characteristics {
            let object = Characteristic {
                sensor: Arc::clone(sensor),
                service: service.path.clone(),
                what: one.clone(),
            };
            server.at(one.path.as_str(), object).await?;
            if one.notifies() {
                server.at(descriptor(one), Descriptor(one.path.clone())).await?;
            }
        }
    }
    Ok(())
}

/// Takes the objects of a sensor's services off the bus.
pub(super) async fn withdraw(connection: &Connection, sensor: &Sensor) -> zbus::Result<()> {
    if !std::mem::take(&mut lock(&sensor.state).served) {
        return Ok(());
    }
    let server = connection.object_server();
    for service in &sensor.services {
        for one in &service.characteristics {
            if one.notifies() {
                server.remove::<Descriptor, _>(descriptor(one)).await?;
            }
            server.remove::<Characteristic, _>(one.path.as_str()).await?;
        }
        server.remove::<Service, _>(service.path.as_str()).await?;
    }
    Ok(())
}

fn descriptor(of: &tree::Characteristic) -> String {
    format!("{}/desc0001", of.path)
}

struct Service {
    uuid: String,
    device: String,
}

#[interface(name = "org.bluez.GattService1")]
impl Service {
    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> &str {
        &self.uuid
    }

    #[zbus(property)]
    fn device(&self) -> Result<OwnedObjectPath, zbus::fdo::Error> {
        path(&self.device)
    }

    #[zbus(property)]
    fn primary(&self) -> bool {
        true
    }
}

struct Characteristic {
    sensor: Arc<Sensor>,
    service: String,
    what: tree::Characteristic,
}

impl Characteristic {
    fn connected(&self) -> Result<(), Refusal> {
        let connected = lock(&self.sensor.state).connected;
        connected.then_some(()).ok_or_else(|| Refusal::Failed("Not connected".to_owned()))
    }
}

#[interface(name = "org.bluez.GattCharacteristic1")]
impl Characteristic {
    async fn read_value(
        &self,
        _options: HashMap<String, OwnedVariant>,
    ) -> Result<Vec<u8>, Refusal> {
        self.connected()?;
        match &self.what.value {
            Value::None => Err(Refusal::NotPermitted("Read not permitted".to_owned())),
            Value::Text(text) => Ok(text.clone().into_bytes()),
            Value::Battery => Ok(vec![lock(&self.sensor.state).battery_percent]),
        }
    }

    async fn write_value(
        &self,
        value: Vec<u8>,
        _options: HashMap<String, OwnedVariant>,
    ) -> Result<(), Refusal> {
        if !self.what.control {
            return Err(Refusal::NotPermitted("Write not permitted".to_owned()));
        }
        self.sensor.take_write(self.what.uuid, &value)
    }

    async fn start_notify(&self) -> Result<(), Refusal> {
        self.connected()?;
        if !self.what.notifies() {
            return Err(Refusal::Failed("Operation is not supported".to_owned()));
        }
        lock(&self.sensor.state).notifying.insert(self.what.path.clone());
        Ok(())
    }

    async fn stop_notify(&self) -> Result<(), Refusal> {
        if !lock(&self.sensor.state).notifying.remove(&self.what.path) {
            return Err(Refusal::Failed("No notify session started".to_owned()));
        }
        Ok(())
    }

    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> String {
        self.what.uuid.to_string()
    }

    #[zbus(property)]
    fn service(&self) -> Result<OwnedObjectPath, zbus::fdo::Error> {
        path(&self.service)
    }

    #[zbus(property)]
    fn value(&self) -> Vec<u8> {
        Vec::new()
    }

    #[zbus(property)]
    fn notifying(&self) -> bool {
        lock(&self.sensor.state).notifying.contains(&self.what.path)
    }

    #[zbus(property)]
    fn flags(&self) -> Vec<&'static str> {
        self.what.flags()
    }

    #[zbus(property, name = "MTU")]
    fn mtu(&self) -> u16 {
        self.sensor.mtu
    }
}

/// The descriptor that a subscription is written to; BlueZ writes it itself.
struct Descriptor(String);

#[interface(name = "org.bluez.GattDescriptor1")]
impl Descriptor {
    async fn read_value(&self, _options: HashMap<String, OwnedVariant>) -> Vec<u8> {
        vec![1, 0]
    }

    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> String {
        assigned(CONFIGURATION).to_string()
    }

    #[zbus(property)]
    fn characteristic(&self) -> Result<OwnedObjectPath, zbus::fdo::Error> {
        path(&self.0)
    }
}
