//! `org.bluez.Adapter1`: power, and scanning.

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use zbus::{OwnedObjectPath, OwnedVariant, interface};

use super::error::Refusal;
use super::world::{ADAPTER_PATH, World, lock};
use super::{device, link};

/// The interface's name.
pub(super) const ADAPTER: &str = "org.bluez.Adapter1";

/// How often a scan hears each sensor.
const ADVERTISING: Duration = Duration::from_millis(100);

/// The adapter's object.
pub(super) struct Adapter(pub(super) Arc<World>);

#[interface(name = "org.bluez.Adapter1")]
impl Adapter {
    async fn start_discovery(&self) -> Result<(), Refusal> {
        {
            let mut adapter = lock(&self.0.adapter);
            if !adapter.powered {
                return Err(Refusal::NotReady("Resource Not Ready".to_owned()));
            }
            if std::mem::replace(&mut adapter.discovering, true) {
                return Err(Refusal::InProgress("Operation already in progress".to_owned()));
            }
        }
        self.0.tell(ADAPTER_PATH, ADAPTER, "Discovering", true).await;
        tokio::spawn(scan(Arc::clone(&self.0)));
        Ok(())
    }

    async fn stop_discovery(&self) -> Result<(), Refusal> {
        if !std::mem::take(&mut lock(&self.0.adapter).discovering) {
            return Err(Refusal::Failed("No discovery started".to_owned()));
        }
        self.0.tell(ADAPTER_PATH, ADAPTER, "Discovering", false).await;
        Ok(())
    }

    async fn set_discovery_filter(&self, _properties: HashMap<String, OwnedVariant>) {}

    async fn remove_device(&self, device: OwnedObjectPath) -> Result<(), Refusal> {
        if let Some(sensor) = self.0.sensor_at(device.as_str()) {
            link::remove(&self.0, &sensor).await;
        }
        Ok(())
    }

    #[zbus(property)]
    fn address(&self) -> &str {
        "02:00:00:00:00:00"
    }

    #[zbus(property)]
    fn address_type(&self) -> &str {
        "public"
    }

    #[zbus(property)]
    fn name(&self) -> &str {
        "simulated"
    }

    #[zbus(property)]
    fn alias(&self) -> &str {
        "simulated"
    }

    // A client leaves an adapter out whose Modalias names neither usb nor bluetooth. These numbers
    // are those that BlueZ gives itself.
    #[zbus(property)]
    fn modalias(&self) -> &str {
        "usb:v1D6Bp0246d0542"
    }

    #[zbus(property)]
    fn powered(&self) -> bool {
        self.0.adapter().powered
    }

    #[zbus(property)]
    async fn set_powered(&self, on: bool) {
        power(&self.0, on).await;
    }

    #[zbus(property)]
    fn discovering(&self) -> bool {
        self.0.adapter().discovering
    }
}

/// Switches the adapter on or off; without power every link is lost.
pub(super) async fn power(world: &Arc<World>, on: bool) {
    {
        let mut adapter = lock(&world.adapter);
        if adapter.powered == on {
            return;
        }
        adapter.powered = on;
        adapter.discovering &= on;
    }
    if !on {
        for sensor in &world.sensors {
            link::lose(world, sensor).await;
        }
    }
    world.tell(ADAPTER_PATH, ADAPTER, "Powered", on).await;
}

/// Hears the sensors' advertisements while the scan is on.
async fn scan(world: Arc<World>) {
    let mut round: i16 = 0;
    while world.adapter().discovering {
        for sensor in &world.sensors {
            device::heard(&world, sensor, round).await;
        }
        round = (round + 1) % 7;
        tokio::time::sleep(ADVERTISING).await;
    }
}
