//! A radio that follows a script, with the habits of back ends that cannot be run here: ids that
//! are no hardware addresses, and a queue of 16 that drops the oldest without a word.

use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock, Mutex, MutexGuard};
use std::time::Duration;

use endarc_protocol::frame::Outgoing;
use endarc_protocol::gatt;
use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Values;
use futures::StreamExt;
use futures::stream::BoxStream;
use tokio::sync::broadcast;

use super::super::radio::{
    Characteristic, Link, Notification, Opener, Place, Radio, RadioNews, Seen,
};
use super::super::trouble::Trouble;

/// How many notifications the back end holds for a slow reader (btleplug 0.13 on macOS and
/// Windows).
const HELD: usize = 16;

/// What every device sends.
static REFERENCE: LazyLock<Profile> = LazyLock::new(Profile::reference);

/// The scripted world: radio and devices.
#[derive(Clone)]
pub(crate) struct Fake(Arc<Mutex<World>>);

pub(crate) struct World {
    /// What opening and asking the adapter answer; `None` is all well.
    pub(crate) trouble: Option<Trouble>,
    /// No call ever answers.
    pub(crate) hangs: bool,
    pub(crate) scanning: bool,
    /// Connects that are being tried at this moment, and the most there ever were.
    connecting: usize,
    pub(crate) most_connecting: usize,
    /// Whether anybody was ever connected while a scan ran.
    pub(crate) connected_in_scan: bool,
    pub(crate) opened: usize,
    pub(crate) devices: Vec<Device>,
    news: broadcast::Sender<RadioNews>,
}

pub(crate) struct Device {
    pub(crate) id: String,
    /// Whether a scan has shown it.
    pub(crate) known: bool,
    pub(crate) connected: bool,
    pub(crate) subscribed: BTreeSet<uuid::Uuid>,
    pub(crate) started: bool,
    pub(crate) silent: bool,
    /// What its gyroscope reads about y, rad/s.
    pub(crate) turning_rad_s: f64,
    /// So many connects still fail.
    pub(crate) refuses: usize,
    /// Connects never return.
    pub(crate) connect_hangs: bool,
    pub(crate) lacks_data: bool,
    /// What the system remembers of it cannot be made to be forgotten.
    pub(crate) remembered: bool,
    /// Every connect fails for want of a pairing.
    pub(crate) unpaired: bool,
    /// How often its notification stream was asked for.
    pub(crate) streams: usize,
    pub(crate) sent: u64,
    queue: broadcast::Sender<Notification>,
}

#[derive(Clone)]
pub(crate) struct FakeLink {
    world: Fake,
    which: usize,
}

impl Fake {
    /// Devices with these ids; none is known before a scan.
    pub(crate) fn new(ids: &[&str]) -> Self {
        let device = |id: &&str| Device {
            id: (*id).to_owned(),
            known: false,
            connected: false,
            subscribed: BTreeSet::new(),
            started: false,
            silent: false,
            turning_rad_s: 0.0,
            refuses: 0,
            connect_hangs: false,
            lacks_data: false,
            remembered: false,
            unpaired: false,
            streams: 0,
            sent: 0,
            queue: broadcast::Sender::new(HELD),
        };
        Self(Arc::new(Mutex::new(World {
            trouble: None,
            hangs: false,
            scanning: false,
            connecting: 0,
            most_connecting: 0,
            connected_in_scan: false,
            opened: 0,
            devices: ids.iter().map(device).collect(),
            news: broadcast::Sender::new(HELD),
        })))
    }

    pub(crate) fn world(&self) -> MutexGuard<'_, World> {
        self.0.lock().unwrap()
    }

    /// Ends a device's connection, as the link's loss does.
    pub(crate) fn drop_link(&self, which: usize) {
        let mut world = self.world();
        let device = &mut world.devices[which];
        device.end();
        let news = RadioNews::Connected { address: device.id.clone(), connected: false };
        // Nobody need listen.
        world.news.send(news).ok();
    }

    /// Sends one frame of the reference profile from a device that was asked to.
    pub(crate) fn send(&self, which: usize) {
        let layout = &REFERENCE.streams()[0];
        let device = &mut self.world().devices[which];
        if !device.connected || !device.started || device.silent {
            return;
        }
        let number = device.sent;
        device.sent += 1;
        let gyro_rad_s = [0.0, device.turning_rad_s, 0.0];
        let still = Values { accel_m_s2: [9.81, 0.0, 0.0], gyro_rad_s, ..Values::default() };
        let counter = number & 0xffff;
        let out = Outgoing { counter, ticks: number * 10_000, samples: &[still] };
        let mut bytes = Vec::new();
        layout.encode(&out, &mut bytes).unwrap();
        if device.subscribed.contains(&layout.characteristic()) {
            let (service, characteristic) = (layout.service().unwrap(), layout.characteristic());
            device.queue.send(Notification { service, characteristic, bytes }).ok();
        }
    }

    /// Every device sends 100 times a second, for so long.
    pub(crate) async fn send_for(&self, seconds: f64) {
        let mut ticks = tokio::time::interval(Duration::from_millis(10));
        for _ in 0..(seconds * 100.0).round() as usize {
            ticks.tick().await;
            let devices = self.world().devices.len();
            for which in 0..devices {
                self.send(which);
            }
        }
    }

    async fn answer<T>(&self, answer: impl FnOnce(&mut World) -> T) -> T {
        if self.world().hangs {
            std::future::pending::<()>().await;
        }
        tokio::time::sleep(Duration::from_millis(2)).await;
        answer(&mut self.world())
    }

    async fn well<T>(&self, answer: impl FnOnce(&mut World) -> T) -> Result<T, Trouble> {
        self.answer(|world| match &world.trouble {
            Some(trouble) => Err(trouble.clone()),
            None => Ok(answer(world)),
        })
        .await
    }
}

impl Device {
    fn end(&mut self) {
        self.connected = false;
        self.started = false;
        self.subscribed.clear();
    }
}

impl Opener for Fake {
    type Radio = Self;

    async fn open(&self) -> Result<Self, Trouble> {
        self.world().opened += 1;
        // A new connection to the bus does not hang because the old one does.
        self.world().hangs = false;
        Ok(self.clone())
    }
}

impl Radio for Fake {
    type Link = FakeLink;

    async fn adapter(&self) -> Result<bool, Trouble> {
        self.well(|_| true).await
    }

    async fn news(&self) -> Result<BoxStream<'static, RadioNews>, Trouble> {
        Ok(lossy(self.world().news.subscribe()))
    }

    async fn start_scan(&self) -> Result<(), Trouble> {
        self.well(|world| world.scanning = true).await
    }

    async fn stop_scan(&self) -> Result<(), Trouble> {
        self.well(|world| world.scanning = false).await
    }

    async fn seen(&self) -> Result<Vec<Seen>, Trouble> {
        self.well(|world| {
            let scanning = world.scanning;
            let seen = world.devices.iter_mut().filter_map(|device| {
                device.known |= scanning;
                let address = device.id.clone();
                let services = REFERENCE.matching().service().into_iter().collect();
                let rssi_dbm = Some(-60);
                device.known.then_some(Seen { address, services, rssi_dbm, ..Seen::default() })
            });
            seen.collect()
        })
        .await
    }

    async fn link(&self, address: &str) -> Result<Option<FakeLink>, Trouble> {
        self.well(|world| {
            let which = world.devices.iter().position(|one| one.known && one.id == address)?;
            Some(FakeLink { world: self.clone(), which })
        })
        .await
    }
}

impl FakeLink {
    async fn device<T>(&self, answer: impl FnOnce(&mut Device) -> T) -> T {
        self.world.answer(|world| answer(&mut world.devices[self.which])).await
    }
}

impl Link for FakeLink {
    async fn is_connected(&self) -> Result<bool, Trouble> {
        Ok(self.device(|device| device.connected).await)
    }

    async fn connect(&self) -> Result<(), Trouble> {
        {
            let mut world = self.world.world();
            world.connecting += 1;
            world.most_connecting = world.most_connecting.max(world.connecting);
            world.connected_in_scan |= world.scanning;
        }
        let guard = Connecting(self.world.clone());
        if self.device(|device| device.connect_hangs).await {
            std::future::pending::<()>().await;
        }
        tokio::time::sleep(Duration::from_millis(60)).await;
        let connected = self
            .device(|device| {
                if device.unpaired {
                    return Err(Trouble::Authentication);
                }
                if device.refuses > 0 {
                    device.refuses -= 1;
                    return Err(Trouble::Other("le-connection-abort-by-local".to_owned()));
                }
                device.connected = true;
                // A sensor counts anew from each connection on.
                device.sent = 0;
                Ok(())
            })
            .await;
        drop(guard);
        connected
    }

    async fn disconnect(&self) -> Result<(), Trouble> {
        self.device(Device::end).await;
        Ok(())
    }

    async fn forget(&self) -> Result<(), Trouble> {
        self.device(|device| device.lacks_data &= device.remembered).await;
        Ok(())
    }

    async fn discover(&self) -> Result<Vec<Characteristic>, Trouble> {
        let lacks_data = self.device(|device| device.lacks_data).await;
        let (data, start) = (&REFERENCE.streams()[0], &REFERENCE.start()[0]);
        let any = |service, uuid, notifies| Characteristic {
            service,
            uuid,
            notifies,
            readable: service == gatt::BATTERY_SERVICE,
            writable: true,
            commandable: false,
        };
        let mut offered = vec![
            any(start.service.unwrap(), start.characteristic, false),
            any(gatt::BATTERY_SERVICE, gatt::BATTERY_LEVEL, true),
        ];
        if !lacks_data {
            offered.push(any(data.service().unwrap(), data.characteristic(), true));
        }
        Ok(offered)
    }

    async fn notifications(&self) -> Result<BoxStream<'static, Notification>, Trouble> {
        Ok(self
            .device(|device| {
                device.streams += 1;
                lossy(device.queue.subscribe())
            })
            .await)
    }

    async fn subscribe(&self, place: Place) -> Result<(), Trouble> {
        self.device(|device| {
            if !device.connected {
                return Err(Trouble::NotConnected);
            }
            device.subscribed.insert(place.characteristic);
            Ok(())
        })
        .await
    }

    async fn write(&self, _place: Place, bytes: &[u8], _confirmed: bool) -> Result<(), Trouble> {
        let start = bytes == [1];
        self.device(|device| {
            device.started = start;
            if device.connected { Ok(()) } else { Err(Trouble::NotConnected) }
        })
        .await
    }

    async fn read(&self, _place: Place) -> Result<Vec<u8>, Trouble> {
        Ok(vec![87])
    }
}

/// One connect that is being tried.
struct Connecting(Fake);

impl Drop for Connecting {
    fn drop(&mut self) {
        self.0.world().connecting -= 1;
    }
}

/// A stream that skips over what its reader was too slow for, and says nothing of it.
fn lossy<T: Clone + Send + 'static>(queue: broadcast::Receiver<T>) -> BoxStream<'static, T> {
    futures::stream::unfold(queue, |mut queue| async move {
        loop {
            match queue.recv().await {
                Ok(item) => return Some((item, queue)),
                Err(broadcast::error::RecvError::Lagged(_)) => {}
                Err(broadcast::error::RecvError::Closed) => return None,
            }
        }
    })
    .boxed()
}
