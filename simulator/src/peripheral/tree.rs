//! The services of a sensor, as they follow from its profile.

use endarc_protocol::gatt;
use endarc_protocol::profile::Profile;
use uuid::Uuid;

/// Where a profile names no service at all.
const OWN_SERVICE: Uuid = Uuid::from_u128(0x3b1c_90d2_6a52_4b5e_9f0e_58b1_7c7f_a201);

/// A service with its objects' paths.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Service {
    pub(super) uuid: Uuid,
    pub(super) path: String,
    pub(super) characteristics: Vec<Characteristic>,
}

/// A characteristic, and what can be done with it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Characteristic {
    pub(super) uuid: Uuid,
    pub(super) path: String,
    /// It notifies samples.
    pub(super) streams: bool,
    /// It takes writes.
    pub(super) control: bool,
    /// What it can be asked for.
    pub(super) value: Value,
}

/// What a characteristic answers when it is read.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// It cannot be read.
    None,
    /// A text.
    Text(String),
    /// The battery's level, percent; it also notifies when that changes.
    Battery,
}

impl Characteristic {
    /// Whether it can be subscribed to.
    pub(super) fn notifies(&self) -> bool {
        self.streams || self.value == Value::Battery
    }

    /// What can be done with it, in BlueZ's words.
    pub(super) fn flags(&self) -> Vec<&'static str> {
        let mut flags = Vec::new();
        if self.value != Value::None {
            flags.push("read");
        }
        if self.control {
            flags.extend(["write", "write-without-response"]);
        }
        if self.notifies() {
            flags.push("notify");
        }
        flags
    }
}

/// All services of a sensor: those of its profile, its battery, and who it is.
pub(super) fn services(device: &str, name: &str, address: &str, profile: &Profile) -> Vec<Service> {
    let mut tree = Tree { device, services: Vec::new(), handle: 0x0010 };
    let named = profile.streams().iter().find_map(|stream| stream.service());
    let usual = profile.matching().service().or(named).unwrap_or(OWN_SERVICE);
    for stream in profile.streams() {
        let service = stream.service().unwrap_or(usual);
        tree.characteristic(service, stream.characteristic()).streams = true;
    }
    let rates = profile.rates().iter().map(|rate| &rate.write);
    for write in profile.start().iter().chain(profile.stop()).chain(rates) {
        let service = write.service.unwrap_or(usual);
        tree.characteristic(service, write.characteristic).control = true;
    }
    tree.characteristic(gatt::BATTERY_SERVICE, gatt::BATTERY_LEVEL).value = Value::Battery;
    let texts = [
        (gatt::MANUFACTURER_NAME, "simulated"),
        (gatt::MODEL_NUMBER, name),
        (gatt::SERIAL_NUMBER, address),
        (gatt::FIRMWARE_REVISION, env!("CARGO_PKG_VERSION")),
    ];
    for (uuid, text) in texts {
        let value = Value::Text(text.to_owned());
        tree.characteristic(gatt::DEVICE_INFORMATION, uuid).value = value;
    }
    tree.services
}

/// Services while they are put together; every object takes the next handle.
struct Tree<'a> {
    device: &'a str,
    services: Vec<Service>,
    handle: u16,
}

impl Tree<'_> {
    /// The characteristic of a service, made where it is not there yet.
    #[expect(clippy::indexing_slicing, reason = "each place was found, or has just been made")]
    fn characteristic(&mut self, service: Uuid, uuid: Uuid) -> &mut Characteristic {
        let found = self.services.iter().position(|one| one.uuid == service);
        let at = found.unwrap_or_else(|| {
            let handle = self.next_handle();
            let path = format!("{}/service{handle:04x}", self.device);
            self.services.push(Service { uuid: service, path, characteristics: Vec::new() });
            self.services.len() - 1
        });
        let handle = self.next_handle();
        let service = &mut self.services[at];
        let found = service.characteristics.iter().position(|one| one.uuid == uuid);
        let at = found.unwrap_or_else(|| {
            let path = format!("{}/char{handle:04x}", service.path);
            let value = Value::None;
            let new = Characteristic { uuid, path, streams: false, control: false, value };
            service.characteristics.push(new);
            service.characteristics.len() - 1
        });
        &mut service.characteristics[at]
    }

    const fn next_handle(&mut self) -> u16 {
        self.handle += 3;
        self.handle
    }
}
