//! `btleplug` behind our traits.

use std::sync::{Arc, Mutex, PoisonError};

use btleplug::api::{
    BDAddr, Central, CentralEvent, CentralState, CharPropFlags, Manager as _, Peripheral as _,
    ScanFilter, WriteType,
};
use btleplug::platform::{Adapter, Manager, Peripheral, PeripheralId};
use futures::StreamExt;
use futures::stream::BoxStream;

use super::radio::{Characteristic, Link, Notification, Opener, Place, Radio, RadioNews, Seen};
use super::trouble::Trouble;

/// The system's Bluetooth.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bluetooth;

/// The system's Bluetooth service, and the adapter that was found last.
#[derive(Debug, Clone)]
pub(crate) struct BluetoothRadio {
    manager: Manager,
    adapter: Arc<Mutex<Option<Adapter>>>,
}

/// One device of the system's Bluetooth.
#[derive(Debug, Clone)]
pub(crate) struct BluetoothLink {
    peripheral: Peripheral,
}

impl Opener for Bluetooth {
    type Radio = BluetoothRadio;

    async fn open(&self) -> Result<BluetoothRadio, Trouble> {
        let runtime = tokio::runtime::Handle::current();
        // Connecting to the bus blocks its thread.
        let opening = tokio::task::spawn_blocking(move || runtime.block_on(Manager::new()));
        match opening.await {
            Ok(Ok(manager)) => Ok(BluetoothRadio { manager, adapter: Arc::default() }),
            Ok(Err(error)) => Err(error.into()),
            Err(error) => Err(Trouble::Other(error.to_string())),
        }
    }
}

impl BluetoothRadio {
    fn current(&self) -> Result<Adapter, Trouble> {
        let adapter = self.adapter.lock().unwrap_or_else(PoisonError::into_inner);
        adapter.clone().ok_or(Trouble::NoAdapter)
    }
}

impl Radio for BluetoothRadio {
    type Link = BluetoothLink;

    async fn adapter(&self) -> Result<bool, Trouble> {
        let mut found = None;
        for adapter in self.manager.adapters().await? {
            let on = adapter.adapter_state().await? == CentralState::PoweredOn;
            if found.is_none() || on {
                found = Some((adapter, on));
            }
            if on {
                break;
            }
        }
        let (adapter, on) = found.ok_or(Trouble::NoAdapter)?;
        *self.adapter.lock().unwrap_or_else(PoisonError::into_inner) = Some(adapter);
        Ok(on)
    }

    async fn news(&self) -> Result<BoxStream<'static, RadioNews>, Trouble> {
        let events = self.current()?.events().await?;
        Ok(events.filter_map(|event| std::future::ready(news(&event))).boxed())
    }

    async fn start_scan(&self) -> Result<(), Trouble> {
        // No filter: a profile may go by the name alone, and filters let known devices through.
        Ok(self.current()?.start_scan(ScanFilter::default()).await?)
    }

    async fn stop_scan(&self) -> Result<(), Trouble> {
        Ok(self.current()?.stop_scan().await?)
    }

    async fn seen(&self) -> Result<Vec<Seen>, Trouble> {
        let mut seen = Vec::new();
        for peripheral in self.current()?.peripherals().await? {
            let address = address(&peripheral);
            // One that was just forgotten again has none.
            let Ok(Some(known)) = peripheral.properties().await else { continue };
            seen.push(Seen {
                address,
                name: known.advertisement_name.or(known.local_name).and_then(|name| tidy(&name)),
                rssi_dbm: known.rssi,
                services: known.services,
                manufacturer: known.manufacturer_data.into_iter().collect(),
            });
        }
        Ok(seen)
    }

    async fn link(&self, wanted: &str) -> Result<Option<BluetoothLink>, Trouble> {
        let known = self.current()?.peripherals().await?;
        let found = known.into_iter().find(|one| address(one).eq_ignore_ascii_case(wanted));
        Ok(found.map(|peripheral| BluetoothLink { peripheral }))
    }
}

impl BluetoothLink {
    fn characteristic(&self, place: Place) -> Result<btleplug::api::Characteristic, Trouble> {
        let offered = self.peripheral.characteristics();
        let found = offered.into_iter().find(|one| place.is(one.service_uuid, one.uuid));
        found.ok_or(Trouble::Lacks(place.characteristic))
    }
}

impl Link for BluetoothLink {
    async fn is_connected(&self) -> Result<bool, Trouble> {
        Ok(self.peripheral.is_connected().await?)
    }

    async fn connect(&self) -> Result<(), Trouble> {
        match self.peripheral.connect().await {
            Err(error) if error.to_string().contains("Already Connected") => Ok(()),
            other => Ok(other?),
        }
    }

    async fn disconnect(&self) -> Result<(), Trouble> {
        Ok(self.peripheral.disconnect().await?)
    }

    async fn forget(&self) -> Result<(), Trouble> {
        super::forget::forget(&self.peripheral.id()).await
    }

    async fn discover(&self) -> Result<Vec<Characteristic>, Trouble> {
        self.peripheral.discover_services().await?;
        let offered = self.peripheral.characteristics().into_iter();
        Ok(offered
            .map(|one| Characteristic {
                service: one.service_uuid,
                uuid: one.uuid,
                notifies: one
                    .properties
                    .intersects(CharPropFlags::NOTIFY | CharPropFlags::INDICATE),
                readable: one.properties.contains(CharPropFlags::READ),
                writable: one.properties.contains(CharPropFlags::WRITE),
                commandable: one.properties.contains(CharPropFlags::WRITE_WITHOUT_RESPONSE),
            })
            .collect())
    }

    async fn notifications(&self) -> Result<BoxStream<'static, Notification>, Trouble> {
        let stream = self.peripheral.notifications().await?;
        let ours = |one: btleplug::api::ValueNotification| Notification {
            service: one.service_uuid,
            characteristic: one.uuid,
            bytes: one.value,
        };
        Ok(stream.map(ours).boxed())
    }

    async fn subscribe(&self, place: Place) -> Result<(), Trouble> {
        let characteristic = self.characteristic(place)?;
        match self.peripheral.subscribe(&characteristic).await {
            // A connection that was taken over may notify already.
            Err(error) if error.to_string().contains("Already notifying") => Ok(()),
            other => Ok(other?),
        }
    }

    async fn write(&self, place: Place, bytes: &[u8], with_response: bool) -> Result<(), Trouble> {
        let kind = match with_response {
            true => WriteType::WithResponse,
            false => WriteType::WithoutResponse,
        };
        Ok(self.peripheral.write(&self.characteristic(place)?, bytes, kind).await?)
    }

    async fn read(&self, place: Place) -> Result<Vec<u8>, Trouble> {
        Ok(self.peripheral.read(&self.characteristic(place)?).await?)
    }
}

impl From<btleplug::Error> for Trouble {
    fn from(error: btleplug::Error) -> Self {
        use btleplug::Error;
        match error {
            Error::PermissionDenied => Self::Refused,
            Error::DeviceNotFound => Self::Forgotten,
            Error::NotConnected => Self::NotConnected,
            Error::NoAdapterAvailable => Self::NoAdapter,
            Error::TimedOut(_) => Self::TimedOut,
            other => Self::of_text(&crate::error::chain(&other)),
        }
    }
}

/// A device's hardware address, or the system's own name for it where it gives none (macOS).
fn address(peripheral: &Peripheral) -> String {
    match peripheral.address() {
        none if none == BDAddr::default() => peripheral.id().to_string(),
        address => address.to_string(),
    }
}

/// The same of an id: BlueZ's ends in `dev_` and the hardware address.
fn address_of(id: &PeripheralId) -> String {
    let id = id.to_string();
    match id.rsplit_once("dev_") {
        Some((_, address)) => address.replace('_', ":"),
        None => id,
    }
}

fn news(event: &CentralEvent) -> Option<RadioNews> {
    match event {
        CentralEvent::StateUpdate(CentralState::PoweredOn) => Some(RadioNews::Powered(true)),
        CentralEvent::StateUpdate(CentralState::PoweredOff) => Some(RadioNews::Powered(false)),
        CentralEvent::DeviceConnected(id) => {
            Some(RadioNews::Connected { address: address_of(id), connected: true })
        }
        CentralEvent::DeviceDisconnected(id) => {
            Some(RadioNews::Connected { address: address_of(id), connected: false })
        }
        _ => None,
    }
}

/// A name as it may be shown: some are padded with NUL, some are empty.
fn tidy(name: &str) -> Option<String> {
    let name = name.trim_matches(|letter: char| letter.is_control() || letter.is_whitespace());
    (!name.is_empty()).then(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H22: names that are missing, padded or broken.
    #[test]
    fn a_name_is_shown_without_its_padding() {
        assert_eq!(tidy("IMU\0\0\0\0\0"), Some("IMU".to_owned()));
        assert_eq!(tidy(&String::from_utf8_lossy(b"IMU\xC3(")), Some("IMU\u{fffd}(".to_owned()));
        assert_eq!(tidy("\0 "), None);
    }
}
