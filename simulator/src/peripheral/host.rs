//! The peripheral as its host knows it.

use std::sync::{Arc, Mutex};

use endarc_protocol::profile::Profile;
use tokio::sync::watch;
use tokio::task::JoinSet;

use super::bus::Bus;
use super::error::PeripheralError;
use super::fault::{Fault, Which};
use super::feeder::Feeder;
use super::pacer::{Clock, Pacer};
use super::script::Script;
use super::sensor::{Faults, Sensor};
use super::world::{World, lock};
use super::{adapter, link, service};
use crate::session::on_air::OnAir;
use crate::session::{SensorInfo, Session};

/// How a peripheral is to be.
#[derive(Debug, Clone)]
pub struct Settings {
    /// ATT MTU of every connection, bytes: a notification holds three fewer. BLE begins with 23;
    /// 247 fills a packet.
    pub mtu: u16,
    /// Sensors that belong to nobody and lie on the table.
    pub spares: usize,
    /// Seconds of radio time that pass in one. The sensors' clocks keep radio time.
    pub speed: f64,
    /// What goes wrong.
    pub script: Script,
}

impl Default for Settings {
    fn default() -> Self {
        Self { mtu: 247, spares: 0, speed: 1.0, script: Script::default() }
    }
}

/// What went out from one sensor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentCount {
    /// Its role, or `spare-N`.
    pub sensor: String,
    /// Notifications that were handed to the bus.
    pub notifications: u64,
    /// Their bytes.
    pub bytes: u64,
}

/// A session's sensors on a bus of their own. Everything ends when it is dropped.
#[derive(Debug)]
pub struct Peripheral {
    shared: Arc<Shared>,
    zero_s: watch::Receiver<Option<f64>>,
    pacer: Pacer,
    duration_s: f64,
    /// The feeder and the script; they end with this.
    _tasks: JoinSet<()>,
}

#[derive(Debug)]
struct Shared {
    world: Arc<World>,
    bus: Mutex<Bus>,
    address: String,
}

/// The time that the last notifications of a visit may take to arrive, s.
const LAST_S: f64 = 0.5;

impl Peripheral {
    /// Starts a bus and puts a session's sensors on it, switched on. Needs a tokio runtime with
    /// time and net.
    ///
    /// # Errors
    /// [`PeripheralError`] where no bus can be had, a frame does not fit the MTU, or the script
    /// names a sensor that is not there.
    pub async fn start(
        session: &Session,
        settings: Settings,
        clock: Clock,
    ) -> Result<Self, PeripheralError> {
        let session = fitting(session, settings.mtu)?;
        let (sensors, on_air) = switched_on(&session, &settings).into_iter().unzip();
        let world = Arc::new(World::new(sensors));
        let bus = Bus::start()?;
        let address = bus.address().to_owned();
        let shared = Arc::new(Shared { world: Arc::clone(&world), bus: Mutex::new(bus), address });
        shared.check(&settings.script)?;
        for fault in &settings.script.first {
            shared.obey(fault).await?;
        }
        service::start(&world, &shared.address).await?;
        let pacer = Pacer::start(clock, settings.speed);
        let (tell_zero, zero_s) = watch::channel(None);
        let mut tasks = JoinSet::new();
        let duration_s = session.duration_s();
        tasks.spawn(Feeder::new(world, session, on_air, pacer.clone(), tell_zero).run());
        let script = settings.script;
        tasks.spawn(play(Arc::clone(&shared), script, zero_s.clone(), pacer.clone()));
        Ok(Self { shared, zero_s, pacer, duration_s, _tasks: tasks })
    }

    /// The bus's address: what `DBUS_SYSTEM_BUS_ADDRESS` is to be for a client.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.shared.address
    }

    /// Lets something go wrong, now.
    ///
    /// # Errors
    /// [`PeripheralError`] where there is no such sensor, or the bus does not come back.
    pub async fn obey(&self, fault: &Fault) -> Result<(), PeripheralError> {
        self.shared.obey(fault).await
    }

    /// Waits until every worn sensor streams; gives the visit's time zero, a moment later, by the
    /// clock that the peripheral was given, s.
    pub async fn begins(&self) -> f64 {
        let mut zero_s = self.zero_s.clone();
        // The feeder lives as long as this: it is never an error.
        let begun = zero_s.wait_for(Option::is_some).await.map(|zero_s| *zero_s);
        self.pacer.clock_s(begun.ok().flatten().unwrap_or(0.0))
    }

    /// Waits until the visit is over and everything of it has been sent.
    pub async fn ended(&self) {
        self.visit_time(self.duration_s + LAST_S).await;
    }

    /// What went out so far, in the order of the session's sensors, spare ones last.
    #[must_use]
    pub fn sent(&self) -> Vec<SentCount> {
        let sensors = self.shared.world.sensors.iter();
        let count = sensors.enumerate().map(|(place, sensor)| {
            let sent = lock(&sensor.state).sent;
            let spare = || format!("spare-{}", place + 1 - self.shared.worn());
            SentCount {
                sensor: sensor.role.map_or_else(spare, |role| role.to_string()),
                notifications: sent.notifications,
                bytes: sent.bytes,
            }
        });
        count.collect()
    }

    async fn visit_time(&self, time_s: f64) {
        at(&mut self.zero_s.clone(), &self.pacer, time_s).await;
    }
}

/// Waits for a moment of visit time.
async fn at(zero_s: &mut watch::Receiver<Option<f64>>, pacer: &Pacer, time_s: f64) {
    // The feeder lives as long as whoever waits: it is never an error.
    if let Ok(begun) = zero_s.wait_for(Option::is_some).await.map(|zero_s| *zero_s)
        && let Some(zero_s) = begun
    {
        pacer.until(zero_s + time_s).await;
    }
}

async fn play(
    shared: Arc<Shared>,
    script: Script,
    mut zero_s: watch::Receiver<Option<f64>>,
    pacer: Pacer,
) {
    for (time_s, fault) in &script.timed {
        at(&mut zero_s, &pacer, *time_s).await;
        // Its sensors were checked at the start; a bus that does not come back is seen by all.
        shared.obey(fault).await.ok();
    }
}

/// The session with frames that a notification can hold: a sensor puts fewer samples into one
/// where the MTU is small.
fn fitting(session: &Session, mtu: u16) -> Result<Session, PeripheralError> {
    let room = usize::from(mtu.saturating_sub(3));
    let Some(first) = session.sensors().first() else {
        return Ok(session.clone());
    };
    let fitted = first.profile.fitting(room);
    let fitted = fitted.map_err(|length| PeripheralError::FrameTooLong {
        profile: first.profile.name().to_owned(),
        length,
        room,
    })?;
    Ok(session.speaking(&fitted))
}

fn switched_on(session: &Session, settings: &Settings) -> Vec<(Arc<Sensor>, OnAir)> {
    let mut all = Vec::new();
    let sensor = |role, name: &str, address: &str, profile: &Profile| {
        Arc::new(Sensor::new(role, (name, address), profile, settings.mtu))
    };
    for (place, info) in session.sensors().iter().enumerate() {
        let SensorInfo { role, name, address, profile } = info;
        if let Some(on_air) = session.on_air(place) {
            all.push((sensor(Some(*role), name, address, profile), on_air));
        }
    }
    for number in 1..=settings.spares {
        let n = session.sensors().len() + number;
        let (name, address) = (format!("IMU {n}"), format!("02:00:00:00:00:{n:02X}"));
        if let Some((profile, on_air)) = session.spare_on_air(number as u64) {
            all.push((sensor(None, &name, &address, &profile), on_air));
        }
    }
    all
}

impl Shared {
    fn worn(&self) -> usize {
        self.world.sensors.iter().filter(|sensor| sensor.role.is_some()).count()
    }

    fn check(&self, script: &Script) -> Result<(), PeripheralError> {
        let timed = script.timed.iter().map(|(_, fault)| fault);
        script
            .first
            .iter()
            .chain(timed)
            .filter_map(Fault::whom)
            .try_for_each(|which| self.sensors(which).map(|_found| ()))
    }

    fn sensors(&self, which: Which) -> Result<Vec<Arc<Sensor>>, PeripheralError> {
        let all = &self.world.sensors;
        let found: Vec<_> = match which {
            Which::All => all.clone(),
            Which::Worn(role) => {
                all.iter().filter(|sensor| sensor.role == Some(role)).cloned().collect()
            }
            Which::Spare(number) => {
                let spares = all.iter().filter(|sensor| sensor.role.is_none());
                spares.skip(number.wrapping_sub(1)).take(1).cloned().collect()
            }
        };
        if found.is_empty() { Err(PeripheralError::NoSensor(which.to_string())) } else { Ok(found) }
    }

    async fn obey(&self, fault: &Fault) -> Result<(), PeripheralError> {
        let world = &self.world;
        match fault {
            Fault::Power(on) => adapter::power(world, *on).await,
            Fault::Plug(true) => service::plug(world).await,
            Fault::Plug(false) => service::unplug(world).await,
            Fault::Bluetoothd(true) => service::start(world, &self.address).await?,
            Fault::Bluetoothd(false) => service::end(world).await,
            Fault::Bus(true) => {
                lock(&self.bus).restart()?;
                service::start(world, &self.address).await?;
            }
            Fault::Bus(false) => {
                lock(&self.bus).kill();
                service::end(world).await;
            }
            Fault::Permission(granted) => {
                lock(&self.bus).permit(*granted)?;
                match world.connection() {
                    Some(_) => service::reload_bus(world).await?,
                    None => lock(&self.bus).restart()?,
                }
            }
            of_sensors => {
                let whom = of_sensors.whom().unwrap_or(Which::All);
                for sensor in self.sensors(whom)? {
                    befall(world, &sensor, of_sensors).await;
                }
            }
        }
        Ok(())
    }
}

async fn befall(world: &World, sensor: &Sensor, fault: &Fault) {
    match fault {
        Fault::Disconnect(_) => {
            link::lose(world, sensor).await;
        }
        Fault::Remove(_) => link::remove(world, sensor).await,
        Fault::Away(_) => {
            lock(&sensor.state).faults.away = true;
            link::lose(world, sensor).await;
        }
        Fault::Near(_) => {
            lock(&sensor.state).faults.away = false;
            sensor.bell.notify_waiters();
        }
        Fault::Battery(_, percent) => link::set_battery(world, sensor, *percent).await,
        of_frames => befall_frames(&mut lock(&sensor.state).faults, of_frames),
    }
}

const fn befall_frames(faults: &mut Faults, fault: &Fault) {
    match fault {
        Fault::Lose(_, n) => faults.lose = *n,
        Fault::Repeat(_, n) => faults.repeat = *n,
        Fault::Swap(_, n) => faults.swap = *n,
        Fault::Corrupt(_, n) => faults.corrupt = *n,
        Fault::Refuse(_, n) => faults.refuse = *n,
        Fault::Burst(_, seconds) => faults.hold_s = *seconds,
        Fault::Silence(_, seconds) => faults.silent_s = *seconds,
        Fault::Shake(_, seconds) => faults.shake_s = *seconds,
        Fault::Reset(_) => faults.restart = true,
        _ => {}
    }
}
