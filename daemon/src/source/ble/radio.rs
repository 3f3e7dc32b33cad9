//! What the rest of the source needs of a Bluetooth stack, and nothing more.
//!
//! Behind these traits stands `btleplug`; in tests, a stack that follows a script. What may differ
//! from system to system stays behind them: an address is a text (macOS gives no hardware address),
//! a notification stream need not end with the link, and every call may hang.

use std::future::Future;

use futures::stream::BoxStream;
use uuid::Uuid;

use super::trouble::Trouble;

/// Opens radios: a new one where the one before has died with its bus.
pub(crate) trait Opener: Clone + Send + Sync + 'static {
    /// What it opens.
    type Radio: Radio;

    /// Opens one. Whether there is an adapter is asked later.
    fn open(&self) -> impl Future<Output = Result<Self::Radio, Trouble>> + Send;
}

/// The Bluetooth service with its adapter, where there is one.
pub(crate) trait Radio: Clone + Send + Sync + 'static {
    /// One device.
    type Link: Link;

    /// Looks for an adapter; true where it is switched on.
    fn adapter(&self) -> impl Future<Output = Result<bool, Trouble>> + Send;

    /// What the adapter tells by itself from now on.
    fn news(&self) -> impl Future<Output = Result<BoxStream<'static, RadioNews>, Trouble>> + Send;

    /// Starts looking for devices.
    fn start_scan(&self) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Stops looking for devices.
    fn stop_scan(&self) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Every device that is known now.
    fn seen(&self) -> impl Future<Output = Result<Vec<Seen>, Trouble>> + Send;

    /// The device with an address; `None` where it is not known.
    fn link(
        &self,
        address: &str,
    ) -> impl Future<Output = Result<Option<Self::Link>, Trouble>> + Send;
}

/// One device.
pub(crate) trait Link: Clone + Send + Sync + 'static {
    /// Whether it is connected.
    fn is_connected(&self) -> impl Future<Output = Result<bool, Trouble>> + Send;

    /// Connects.
    fn connect(&self) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Ends the connection, also one that is only being tried.
    fn disconnect(&self) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Makes the system forget what it remembers of the device.
    fn forget(&self) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Finds what the connected device offers.
    fn discover(&self) -> impl Future<Output = Result<Vec<Characteristic>, Trouble>> + Send;

    /// The stream of its notifications: one for the whole life of the link.
    fn notifications(
        &self,
    ) -> impl Future<Output = Result<BoxStream<'static, Notification>, Trouble>> + Send;

    /// Asks for the notifications of a characteristic.
    fn subscribe(&self, place: Place) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Writes to a characteristic.
    fn write(
        &self,
        place: Place,
        bytes: &[u8],
        with_response: bool,
    ) -> impl Future<Output = Result<(), Trouble>> + Send;

    /// Reads a characteristic.
    fn read(&self, place: Place) -> impl Future<Output = Result<Vec<u8>, Trouble>> + Send;
}

/// Which characteristic is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Place {
    /// Its service, where that was said.
    pub(crate) service: Option<Uuid>,
    /// Its UUID.
    pub(crate) characteristic: Uuid,
}

impl Place {
    /// Whether a characteristic of a service is the one that is meant.
    pub(crate) fn is(&self, service: Uuid, characteristic: Uuid) -> bool {
        self.characteristic == characteristic && self.service.is_none_or(|own| own == service)
    }
}

/// A characteristic that a device offers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Characteristic {
    /// Its service.
    pub(crate) service: Uuid,
    /// Its UUID.
    pub(crate) uuid: Uuid,
    /// Whether it notifies (or indicates).
    pub(crate) notifies: bool,
    /// Whether it can be read.
    pub(crate) readable: bool,
    /// Whether it takes a write that is confirmed.
    pub(crate) writable: bool,
    /// Whether it takes a write that is not confirmed.
    pub(crate) commandable: bool,
}

/// What a device sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Notification {
    /// From which service.
    pub(crate) service: Uuid,
    /// From which characteristic.
    pub(crate) characteristic: Uuid,
    /// What it sent.
    pub(crate) bytes: Vec<u8>,
}

/// A device as it is seen without a connection.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Seen {
    /// What tells it apart: its hardware address, or the system's name for it.
    pub(crate) address: String,
    /// The name it gives itself.
    pub(crate) name: Option<String>,
    /// Signal strength, dBm; `None` where it was not heard lately.
    pub(crate) rssi_dbm: Option<i16>,
    /// The services it advertises.
    pub(crate) services: Vec<Uuid>,
    /// Manufacturer data: company id and what follows it.
    pub(crate) manufacturer: Vec<(u16, Vec<u8>)>,
}

/// What the adapter tells by itself. Nothing of it is relied on: news may be lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum RadioNews {
    /// It was switched on or off.
    Powered(bool),
    /// A device was connected, or its connection ended.
    Connected {
        /// Which device.
        address: String,
        /// Whether it is connected now.
        connected: bool,
    },
}
