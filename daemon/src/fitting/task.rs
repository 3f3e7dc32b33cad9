//! The task that looks for sensors, sees which one moves, and stores what is decided.

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::profile::Profile;
use tokio::sync::{mpsc, watch};
use tokio::time::{MissedTickBehavior, interval, timeout};
use tokio_util::sync::CancellationToken;

use super::moving::{Heard, Moving};
use super::{FittingAsked, FittingOrder, FittingState, Search, SensorInSight, Surroundings};
use crate::clock::{self, Monotonic};
use crate::live::{LinkWord, LiveState};
use crate::order::Refusal;
use crate::pipeline::queues;
use crate::profiles::Profiles;
use crate::source::Trouble;
use crate::source::ble::{self, Opener, Radio, Seen, Timeline};
use crate::store::{Assignment, ReadError, Reader, SensorRecord, Write};

/// How often it is looked who is in sight.
const LOOK: Duration = Duration::from_millis(500);
/// How long is looked for, or waited for somebody to move one, s.
const LONGEST_S: f64 = 120.0;
/// How long a healthy Bluetooth service takes at most.
const PATIENCE: Duration = Duration::from_secs(5);

/// What the task is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Doing {
    Nothing,
    Scanning,
    Moving,
    Ending,
}

/// The task's state.
pub(super) struct Task<O: Opener> {
    opener: O,
    surroundings: Surroundings,
    orders: mpsc::Receiver<FittingAsked>,
    shown: watch::Sender<Arc<FittingState>>,
    profiles: Option<Profiles>,
    known: Vec<SensorRecord>,
    seen: Vec<Seen>,
    connected: BTreeSet<String>,
    search: Search,
    trouble: Option<String>,
    moved: Option<String>,
}

impl<O: Opener> Task<O> {
    pub(super) fn new(
        opener: O,
        surroundings: Surroundings,
        orders: mpsc::Receiver<FittingAsked>,
        shown: watch::Sender<Arc<FittingState>>,
    ) -> Self {
        Self {
            opener,
            surroundings,
            orders,
            shown,
            profiles: None,
            known: Vec::new(),
            seen: Vec::new(),
            connected: BTreeSet::new(),
            search: Search::Off,
            trouble: None,
            moved: None,
        }
    }

    /// Obeys until nobody can ask any more.
    pub(super) async fn run(mut self) {
        self.load().await;
        self.show();
        let mut doing = Doing::Nothing;
        loop {
            doing = match doing {
                Doing::Nothing => match self.orders.recv().await {
                    Some(asked) => self.obey(asked, doing).await,
                    None => Doing::Ending,
                },
                Doing::Scanning => self.scan().await,
                Doing::Moving => self.see_which_moves().await,
                Doing::Ending => return,
            };
            if doing == Doing::Nothing {
                self.search = Search::Off;
            }
            self.show();
        }
    }

    /// Does what is asked for, or says why not; gives what goes on.
    async fn obey(&mut self, asked: FittingAsked, doing: Doing) -> Doing {
        let FittingAsked { order, answer } = asked;
        let (done, doing) = match order {
            FittingOrder::Scan => {
                self.trouble = None;
                (Ok(()), Doing::Scanning)
            }
            FittingOrder::Move => match self.may_connect() {
                Ok(()) => (Ok(()), Doing::Moving),
                Err(refusal) => (Err(refusal), doing),
            },
            FittingOrder::Stop => (Ok(()), Doing::Nothing),
            FittingOrder::Assign { address, role, profile } => {
                let assignment = self.assignment(address, role, profile);
                (self.store(assignment.map(Write::Assign)).await, doing)
            }
            FittingOrder::Rename { address, name } => {
                let name = name.map(|name| name.trim().to_owned());
                let fits =
                    name.as_ref().is_none_or(|name| (1..=64).contains(&name.chars().count()));
                let write = self.known_address(&address).and_then(|address| {
                    let refusal = "a name has 1 to 64 characters";
                    if fits { Ok(Write::NameSensor { address, name }) } else { Err(refusal.into()) }
                });
                (self.store(write).await, doing)
            }
            FittingOrder::Forget { address } => {
                let write = self.known_address(&address);
                (self.store(write.map(|address| Write::ForgetSensor { address })).await, doing)
            }
        };
        self.show();
        // Whoever asked may have gone.
        answer.send(done).ok();
        doing
    }

    /// Looks for sensors until told to stop, or for two minutes.
    async fn scan(&mut self) -> Doing {
        let radio = match self.open().await {
            Ok(radio) => radio,
            Err(trouble) => return self.give_up(&trouble),
        };
        let clock = Monotonic::start();
        let mut ticks = interval(LOOK);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut on = false;
        let next = loop {
            tokio::select! {
                biased;
                asked = self.orders.recv() => {
                    let Some(asked) = asked else { break Doing::Ending };
                    let next = self.obey(asked, Doing::Scanning).await;
                    if next != Doing::Scanning {
                        break next;
                    }
                }
                _ = ticks.tick() => {
                    if clock.now_s() > LONGEST_S {
                        break Doing::Nothing;
                    }
                    if let Err(trouble) = self.look(&radio, &mut on).await {
                        break self.give_up(&trouble);
                    }
                }
            }
        };
        if on && let Err(trouble) = within(radio.stop_scan()).await {
            tracing::debug!(%trouble, "the scan did not stop");
        }
        next
    }

    /// Looks once; the scan pauses while a visit's sensors stream.
    async fn look(&mut self, radio: &O::Radio, on: &mut bool) -> Result<(), Trouble> {
        let wanted = !self.a_visit_streams();
        if wanted != *on {
            if wanted {
                within(radio.start_scan()).await?;
            } else {
                within(radio.stop_scan()).await?;
            }
            *on = wanted;
        }
        self.search = if wanted { Search::Scanning } else { Search::Paused };
        if wanted {
            self.seen = within(radio.seen()).await?;
        }
        self.show();
        Ok(())
    }

    /// Connects what was seen, until somebody says stop, and names whichever is turned.
    async fn see_which_moves(&mut self) -> Doing {
        let profile_of = |one: &Seen| Some((one.clone(), self.profiles.as_ref()?.of(one)?));
        let (mut moving, wanted) = Moving::new(self.seen.iter().filter_map(profile_of));
        self.search = Search::Moving;
        self.moved = None;
        self.show();
        let stop = CancellationToken::new();
        let (to_here, mut events) = mpsc::channel(queues::SOURCE);
        let timeline = Timeline::new(Monotonic::start());
        let running =
            tokio::spawn(ble::run(self.opener.clone(), wanted, timeline, to_here, stop.clone()));
        let clock = Monotonic::start();
        let mut ticks = interval(LOOK);
        let next = loop {
            tokio::select! {
                biased;
                asked = self.orders.recv() => {
                    let Some(asked) = asked else { break Doing::Ending };
                    let next = self.obey(asked, Doing::Moving).await;
                    if next != Doing::Moving {
                        break next;
                    }
                }
                Some(stamped) = events.recv() => {
                    if let Some(heard) = moving.hear(&stamped.event) {
                        self.heard(heard);
                    }
                }
                _ = ticks.tick() => {
                    if clock.now_s() > LONGEST_S || self.may_connect().is_err() {
                        break Doing::Nothing;
                    }
                }
            }
        };
        stop.cancel();
        // What still comes is not needed, but must not hold the radio up.
        while events.recv().await.is_some() {}
        if let Err(error) = running.await {
            tracing::error!(%error, "finding out which sensor moves broke off");
        }
        self.connected.clear();
        next
    }

    fn heard(&mut self, heard: Heard) {
        match heard {
            Heard::Streams(seen) => {
                self.connected.insert(seen.address);
            }
            Heard::Fails(seen, trouble) => {
                self.connected.remove(&seen.address);
                self.trouble = Some(format!("{}: {trouble}", called(&seen)));
            }
            Heard::Moves(seen) => {
                self.trouble = None;
                self.moved = Some(seen.address);
            }
        }
        self.show();
    }

    /// Opens the radio; an adapter must be there and on.
    async fn open(&mut self) -> Result<O::Radio, Trouble> {
        self.load().await;
        let radio = within(self.opener.open()).await?;
        if within(radio.adapter()).await? { Ok(radio) } else { Err(Trouble::Off) }
    }

    fn give_up(&mut self, trouble: &Trouble) -> Doing {
        self.trouble = Some(trouble.to_string());
        Doing::Nothing
    }

    fn a_visit_streams(&self) -> bool {
        let streams = |live: &LiveState| {
            !live.ended && live.sensors.iter().any(|one| one.link == Some(LinkWord::Streaming))
        };
        streams(&self.surroundings.live.borrow())
    }

    /// Sensors are connected for a look only while no visit uses sensors.
    fn may_connect(&self) -> Result<(), Refusal> {
        let live = self.surroundings.live.borrow();
        if !live.ended && live.sensors.iter().any(|one| one.link.is_some()) {
            return Err("a visit is using the sensors: end it first".into());
        }
        if self.seen.is_empty() {
            return Err("no sensor is in sight: look for them first".into());
        }
        Ok(())
    }

    fn assignment(
        &self,
        address: String,
        role: endarc_protocol::words::SensorRole,
        profile: Option<String>,
    ) -> Result<Assignment, Refusal> {
        let seen = self.seen.iter().find(|one| one.address.eq_ignore_ascii_case(&address));
        let seen = seen.ok_or("this sensor was not seen: look for it first")?;
        let profiles = self.profiles.as_ref().ok_or("the profiles cannot be read")?;
        let profile: Option<Arc<Profile>> = match profile {
            Some(name) => profiles.named(&name),
            None => profiles.of(seen),
        };
        let profile = profile.ok_or_else(|| {
            Refusal(format!("no profile fits; those known are {}", list(profiles)))
        })?;
        Ok(Assignment {
            role,
            address: seen.address.clone(),
            name: seen.name.clone(),
            profile: profile.name().to_owned(),
            assigned_at: clock::wall().timestamp(),
        })
    }

    fn known_address(&self, address: &str) -> Result<String, Refusal> {
        let known = self.known.iter().find(|one| one.address.eq_ignore_ascii_case(address));
        known.map(|one| one.address.clone()).ok_or_else(|| "no such sensor is known".into())
    }

    async fn store(&mut self, write: Result<Write, Refusal>) -> Result<(), Refusal> {
        let stored = self.surroundings.writer.save(write?).await;
        stored.map_err(|error| Refusal(error.to_string()))?;
        self.load().await;
        Ok(())
    }

    /// Reads profiles and what is known of sensors anew.
    async fn load(&mut self) {
        let (data_dir, own) =
            (self.surroundings.data_dir.clone(), self.surroundings.profiles.clone());
        let reading = tokio::task::spawn_blocking(move || {
            let known = match Reader::open(&data_dir).and_then(|reader| reader.sensors()) {
                Err(ReadError::NoDatabase { .. }) => Ok(Vec::new()),
                other => other,
            };
            (known, own.map_or_else(Profiles::load, |folder| Profiles::load_from(&folder)))
        });
        let Ok((known, profiles)) = reading.await else { return };
        match known {
            Ok(known) => self.known = known,
            Err(error) => self.trouble = Some(error.to_string()),
        }
        match profiles {
            Ok(profiles) => self.profiles = Some(profiles),
            Err(error) => self.trouble = Some(error.to_string()),
        }
    }

    fn show(&self) {
        let assigned = self.known.iter().filter(|one| one.role.is_some());
        let away = assigned.filter(|one| !self.seen.iter().any(|seen| seen.address == one.address));
        let mut sensors: Vec<SensorInSight> =
            self.seen.iter().map(|seen| self.row(seen, true)).collect();
        sensors.retain(|one| one.profile.is_some() || one.role.is_some());
        sensors.extend(
            away.map(|one| {
                self.row(&Seen { address: one.address.clone(), ..Seen::default() }, false)
            }),
        );
        sensors.sort_by_key(|one| (Reverse(one.signal_dbm), one.address.clone()));
        self.shown.send_replace(Arc::new(FittingState {
            search: self.search,
            trouble: self.trouble.clone(),
            moved: self.moved.clone(),
            sensors,
        }));
    }

    fn row(&self, seen: &Seen, in_sight: bool) -> SensorInSight {
        let known = self.known.iter().find(|one| one.address.eq_ignore_ascii_case(&seen.address));
        let profile = self.profiles.as_ref().and_then(|profiles| profiles.of(seen));
        SensorInSight {
            address: seen.address.clone(),
            name: known.and_then(|one| one.name.clone()).or_else(|| seen.name.clone()),
            signal_dbm: seen.rssi_dbm.filter(|_| in_sight),
            profile: profile.map(|profile| profile.name().to_owned()),
            role: known.and_then(|one| one.role),
            battery_percent: known.and_then(|one| one.battery_percent),
            connected: self.connected.contains(&seen.address),
        }
    }
}

fn called(seen: &Seen) -> String {
    seen.name.clone().unwrap_or_else(|| seen.address.clone())
}

fn list(profiles: &Profiles) -> String {
    profiles.names().collect::<Vec<_>>().join(", ")
}

/// Waits for a call, but not for ever.
async fn within<T>(call: impl Future<Output = Result<T, Trouble>>) -> Result<T, Trouble> {
    timeout(PATIENCE, call).await.unwrap_or(Err(Trouble::TimedOut))
}
