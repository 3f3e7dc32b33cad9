//! One sensor as a client can know it: what it advertises, its services, and its state.

use std::collections::BTreeSet;
use std::sync::Mutex;

use endarc_protocol::profile::{Profile, Write};
use endarc_protocol::words::SensorRole;
use tokio::sync::Notify;
use uuid::Uuid;

use super::error::Refusal;
use super::tree::{self, Service};
use super::world::{ADAPTER_PATH, lock};

/// A sensor, and whatever has become of it.
#[derive(Debug)]
pub(super) struct Sensor {
    /// Where it is worn; `None` for a spare one that lies on the table.
    pub(super) role: Option<SensorRole>,
    pub(super) address: String,
    pub(super) name: String,
    /// Its object's path.
    pub(super) path: String,
    pub(super) mtu: u16,
    pub(super) services: Vec<Service>,
    /// Services that it lists in its advertisements.
    pub(super) advertised: Vec<Uuid>,
    /// Company id and data of its advertisements.
    pub(super) manufacturer: Option<(u16, Vec<u8>)>,
    start: Vec<Write>,
    stop: Vec<Write>,
    pub(super) state: Mutex<SensorState>,
    /// Rung when it comes near, or when an attempt to connect is given up.
    pub(super) bell: Notify,
}

/// What changes about a sensor.
#[derive(Debug, Default)]
pub(super) struct SensorState {
    /// Its object is there: a scan has seen it.
    pub(super) known: bool,
    pub(super) connecting: bool,
    pub(super) connected: bool,
    pub(super) resolved: bool,
    /// The objects of its services are there.
    pub(super) served: bool,
    /// Paths of the characteristics that a client has subscribed to.
    pub(super) notifying: BTreeSet<String>,
    /// It was told to send.
    started: bool,
    pub(super) battery_percent: u8,
    pub(super) faults: Faults,
    pub(super) sent: Sent,
}

/// The faults that are on, or still to come.
#[derive(Debug, Default)]
pub(super) struct Faults {
    /// Out of reach: no scan sees it, no connection comes about.
    pub(super) away: bool,
    /// So many of the next attempts to connect are refused.
    pub(super) refuse: u32,
    /// So many of the next notifications are lost, come twice, come after their successor, or come
    /// with a bit turned.
    pub(super) lose: u32,
    pub(super) repeat: u32,
    pub(super) swap: u32,
    pub(super) corrupt: u32,
    /// Sends nothing for so long, s.
    pub(super) silent_s: f64,
    /// Holds everything up for so long, s, and then sends it at once.
    pub(super) hold_s: f64,
    /// Is shaken for so long, s.
    pub(super) shake_s: f64,
    /// Starts its counter and clock anew.
    pub(super) restart: bool,
}

/// What went out to the client.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Sent {
    pub(super) notifications: u64,
    pub(super) bytes: u64,
}

impl Sensor {
    /// A sensor of a profile. The name is made to fit the profile's rule for it.
    pub(super) fn new(
        role: Option<SensorRole>,
        (name, address): (&str, &str),
        profile: &Profile,
        mtu: u16,
    ) -> Self {
        let path = format!("{ADAPTER_PATH}/dev_{}", address.replace(':', "_"));
        let rules = profile.matching();
        let name = match rules.name_prefix() {
            Some(prefix) if !name.starts_with(prefix) => format!("{prefix} {name}"),
            _ => name.to_owned(),
        };
        let services = tree::services(&path, &name, address, profile);
        let advertised = match rules.service() {
            Some(service) => vec![service],
            None => services.iter().take(1).map(|service| service.uuid).collect(),
        };
        let manufacturer = rules.manufacturer().map(|(company, data)| (company, data.to_vec()));
        let state = SensorState { battery_percent: FULL_ENOUGH, ..SensorState::default() };
        Self {
            role,
            address: address.to_owned(),
            name,
            path,
            mtu,
            services,
            advertised,
            manufacturer,
            start: profile.start().to_vec(),
            stop: profile.stop().to_vec(),
            state: Mutex::new(state),
            bell: Notify::new(),
        }
    }

    /// Takes what a client writes, as the sensor's firmware would: the last of the profile's start
    /// writes starts it, the last of its stop writes stops it. Anything else, such as a rate, is
    /// taken and changes nothing: the scenario says how fast it samples.
    pub(super) fn take_write(&self, characteristic: Uuid, bytes: &[u8]) -> Result<(), Refusal> {
        let is = |write: &&Write| write.characteristic == characteristic && write.bytes == bytes;
        let mut state = lock(&self.state);
        if !state.connected {
            return Err(Refusal::Failed("Not connected".to_owned()));
        }
        if self.stop.last().as_ref().is_some_and(is) {
            state.started = false;
        }
        if self.start.last().as_ref().is_some_and(is) {
            state.started = true;
        }
        Ok(())
    }

    /// Whether it sends: connected, told to, and somebody has subscribed to everything it streams.
    pub(super) fn streams(&self) -> bool {
        let state = lock(&self.state);
        let mut streams = self.characteristics().filter(|one| one.streams);
        self.sends(&state) && streams.all(|one| state.notifying.contains(&one.path))
    }

    /// The path of a stream's characteristic, while it sends and somebody has subscribed.
    pub(super) fn open_path(&self, characteristic: Uuid) -> Option<&str> {
        let state = lock(&self.state);
        let mut streams = self.characteristics().filter(|one| one.streams);
        let stream = streams.find(|one| one.uuid == characteristic)?;
        let open = self.sends(&state) && state.notifying.contains(&stream.path);
        open.then_some(stream.path.as_str())
    }

    /// Forgets a link: the sensor waits to be told to start again.
    pub(super) fn unlink(&self) -> bool {
        let mut state = lock(&self.state);
        state.started = false;
        state.resolved = false;
        std::mem::take(&mut state.connected)
    }

    /// Forgets everything that lives in bluetoothd.
    pub(super) fn forget(&self) {
        self.unlink();
        let mut state = lock(&self.state);
        state.known = false;
        state.served = false;
        state.connecting = false;
        state.notifying.clear();
    }

    /// All its characteristics.
    pub(super) fn characteristics(&self) -> impl Iterator<Item = &tree::Characteristic> {
        self.services.iter().flat_map(|service| &service.characteristics)
    }

    fn sends(&self, state: &SensorState) -> bool {
        state.connected && (state.started || self.start.is_empty())
    }
}

/// A battery nobody needs to think of, percent.
const FULL_ENOUGH: u8 = 87;
