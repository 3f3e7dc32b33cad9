//! Carries out what the connections' life wants done, and tells it what came of it.
//!
//! One task holds the life; each call runs in a task of its own with a time limit, each stream is
//! drained by a task of its own. At the end every one of them is joined.

mod device;
mod farewell;
mod task;

use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::profile::Profile;
use endarc_protocol::words::SensorRole;
use futures::StreamExt;
use futures::stream::BoxStream;
use tokio::sync::mpsc;
use tokio::task::JoinSet;
use tokio::time::{MissedTickBehavior, interval};
use tokio_util::sync::CancellationToken;

use device::Device;
pub(crate) use farewell::Farewell;
use task::{Answer, Task};

use super::calls;
use super::drain::{Drain, Outlet};
use super::life::{Action, Event, Life, News, Step, Which};
use super::radio::{Notification, Opener, Radio, RadioNews, Seen};
use super::timeline::Timeline;
use super::trouble::Trouble;
use crate::clock::Sleep;
use crate::source::{LinkNews, SourceEvent, Stamped};

/// How often time goes by: a silence is seen within it.
const TICK: Duration = Duration::from_millis(100);
/// How often the battery is asked for, s.
const BATTERY_S: f64 = 60.0;

/// A sensor that is wanted.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wanted {
    /// Where it is worn.
    pub(crate) role: SensorRole,
    /// What tells it apart.
    pub(crate) address: String,
    /// How it writes what it sends.
    pub(crate) profile: Arc<Profile>,
}

/// Keeps these sensors connected and hands on what they send, until told to stop. From then on
/// nothing is handed on; the sensors are still to be left.
pub(crate) async fn run<O: Opener>(
    opener: O,
    wanted: Vec<Wanted>,
    timeline: Timeline,
    queue: mpsc::Sender<Stamped>,
    stop: CancellationToken,
) -> Farewell<O::Radio> {
    let life = Life::new(wanted.len(), timeline.now_s());
    let devices = wanted.into_iter().map(Device::new).collect();
    let runner = Runner {
        opener,
        life,
        devices,
        timeline,
        queue,
        radio: None,
        news: None,
        calls: JoinSet::new(),
        sleep: Sleep::start(),
    };
    runner.run(stop).await
}

struct Runner<O: Opener> {
    opener: O,
    life: Life,
    devices: Vec<Device<<O::Radio as Radio>::Link>>,
    timeline: Timeline,
    queue: mpsc::Sender<Stamped>,
    radio: Option<O::Radio>,
    news: Option<BoxStream<'static, RadioNews>>,
    calls: JoinSet<Answer<O::Radio>>,
    sleep: Sleep,
}

impl<O: Opener> Runner<O> {
    async fn run(mut self, stop: CancellationToken) -> Farewell<O::Radio> {
        let mut ticks = interval(TICK);
        // After the computer has slept, one tick is enough.
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            tokio::select! {
                biased;
                () = stop.cancelled() => break,
                Some(answer) = self.calls.join_next() => match answer {
                    Ok(answer) => self.answer(answer).await,
                    // Abandoned, which is nothing new.
                    Err(error) if error.is_cancelled() => {}
                    Err(error) => tracing::error!(%error, "a Bluetooth call broke off"),
                },
                Some(news) = next(&mut self.news) => self.radio_news(&news).await,
                _ = ticks.tick() => self.tick().await,
            }
        }
        self.hush().await
    }

    async fn tick(&mut self) {
        let slept_s = self.timeline.slept(&self.sleep);
        if slept_s > 1.0 {
            self.handle(Event::Slept(slept_s)).await;
        }
        for which in 0..self.devices.len() {
            let Some(device) = self.devices.get_mut(which) else { continue };
            let at_s = device.heard.at_s();
            if let (true, Some(at_s)) = (at_s != device.told_s, at_s) {
                device.told_s = Some(at_s);
                self.handle(Event::Data(which, at_s)).await;
            }
        }
        self.handle(Event::Tick).await;
        self.ask_batteries();
    }

    async fn radio_news(&mut self, news: &RadioNews) {
        match news {
            RadioNews::Powered(on) => {
                let outcome = if *on { Ok(true) } else { Err(Trouble::Off) };
                self.handle(Event::Adapter(outcome)).await;
            }
            RadioNews::Connected { address, connected } => {
                if let Some(which) = self.which(address) {
                    self.handle(Event::Connected(which, *connected)).await;
                }
            }
        }
    }

    async fn answer(&mut self, answer: Answer<O::Radio>) {
        let event = match answer {
            Answer::Opened(Ok(radio)) => {
                self.radio = Some(radio);
                Event::Opened(Ok(()))
            }
            Answer::Opened(Err(trouble)) => Event::Opened(Err(trouble)),
            Answer::Adapter(Ok((on, news))) => {
                self.news = news.or_else(|| self.news.take());
                Event::Adapter(Ok(on))
            }
            Answer::Adapter(Err(trouble)) => Event::Adapter(Err(trouble)),
            Answer::Scan(on, outcome) => Event::Scan(on, outcome),
            Answer::Looked(seen) => return self.looked(seen).await,
            Answer::Found(which, found) => {
                let (link, outcome) = parts(found);
                self.relink(which, link).await;
                Event::Done(which, Step::Find, outcome)
            }
            Answer::Discovered(which, discovered) => {
                let (offered, outcome) = parts(discovered);
                if let (Some(device), Some(offered)) = (self.devices.get_mut(which), offered) {
                    device.offered = offered;
                }
                Event::Done(which, Step::Discover, outcome)
            }
            Answer::Subscribed(which, subscribed) => {
                let (stream, outcome) = parts(subscribed);
                self.listen(which, stream.flatten());
                Event::Done(which, Step::Subscribe, outcome)
            }
            Answer::Done(which, step, outcome) => {
                if step == Step::Start && outcome.is_ok() {
                    self.identify(which);
                }
                Event::Done(which, step, outcome)
            }
            Answer::Identified(which, identity) => {
                return self.tell(which, LinkNews::Identity(Box::new(identity))).await;
            }
            Answer::Battery(which, percent) => {
                return self.tell(which, LinkNews::Battery(percent)).await;
            }
        };
        self.handle(event).await;
    }

    async fn looked(&mut self, seen: Result<Vec<Seen>, Trouble>) {
        match seen {
            Ok(seen) => {
                for Seen { address, rssi_dbm, .. } in seen {
                    if let Some(which) = self.which(&address) {
                        if let Some(dbm) = rssi_dbm {
                            self.tell(which, LinkNews::Signal(dbm)).await;
                        }
                        self.handle(Event::Seen(which)).await;
                    }
                }
            }
            // The next call tells the life, if it lasts.
            Err(trouble) => tracing::debug!(%trouble, "the scan cannot be looked at"),
        }
    }

    async fn handle(&mut self, event: Event) {
        let now_s = self.timeline.now_s();
        tracing::trace!(?event, now_s, "bluetooth");
        for action in self.life.handle(event, now_s) {
            self.carry_out(action).await;
        }
    }

    async fn carry_out(&mut self, action: Action) {
        match action {
            Action::Open => {
                self.close_radio().await;
                let opener = self.opener.clone();
                self.calls.spawn(async move {
                    Answer::Opened(calls::within(5.0, Trouble::NoBus, opener.open()).await)
                });
            }
            Action::AskAdapter => {
                let with_news = self.news.is_none();
                let Some(radio) = self.radio.clone() else { return };
                self.calls
                    .spawn(async move { Answer::Adapter(calls::adapter(radio, with_news).await) });
            }
            Action::Scan(on) => {
                let Some(radio) = self.radio.clone() else { return };
                self.calls.spawn(async move { Answer::Scan(on, calls::scan(radio, on).await) });
            }
            Action::Look => {
                let Some(radio) = self.radio.clone() else { return };
                self.calls.spawn(async move {
                    Answer::Looked(calls::within(2.0, Trouble::NoBus, radio.seen()).await)
                });
            }
            Action::Do(which, step) => self.begin(which, step),
            Action::Abandon(which, step) => {
                let running = self.devices.get_mut(which).and_then(|device| device.call.take());
                if let Some((_, call)) = running.filter(|(running, _)| *running == step) {
                    call.abort();
                }
            }
            Action::Tell(which, news) => self.told(which, news).await,
            Action::TellRadio(trouble) => {
                let at_s = self.timeline.now_s();
                let event = SourceEvent::Radio { time_s: at_s, trouble };
                self.send(Stamped { at_s, event }).await;
            }
        }
    }

    fn begin(&mut self, which: Which, step: Step) {
        let Some(device) = self.devices.get_mut(which) else { return };
        let task = Task {
            which,
            step,
            profile: Arc::clone(&device.wanted.profile),
            address: device.wanted.address.clone(),
            listening: device.drain.is_some(),
            radio: self.radio.clone(),
        };
        let call = self.calls.spawn(task.run(device.link.clone()));
        device.call = Some((step, call));
    }

    async fn told(&mut self, which: Which, news: News) {
        if let Some(device) = self.devices.get_mut(which) {
            let role = device.wanted.role;
            match &news {
                News::Failed(trouble) => tracing::info!(%role, %trouble, "sensor not connected"),
                news => tracing::info!(%role, ?news, "sensor"),
            }
            device.streaming = matches!(news, News::Streaming | News::Silent);
        }
        self.tell(which, LinkNews::State(news)).await;
    }

    async fn tell(&mut self, which: Which, news: LinkNews) {
        let Some(device) = self.devices.get(which) else { return };
        let at_s = self.timeline.now_s();
        let role = device.wanted.role;
        self.send(Stamped { at_s, event: SourceEvent::Link { time_s: at_s, role, news } }).await;
    }

    async fn send(&mut self, stamped: Stamped) {
        // Nobody listens any more only where the pipeline has failed, and it says so itself.
        self.queue.send(stamped).await.ok();
    }

    fn which(&self, address: &str) -> Option<Which> {
        self.devices.iter().position(|device| device.wanted.address.eq_ignore_ascii_case(address))
    }

    /// A new handle for a device: the stream of the old one goes with it.
    async fn relink(&mut self, which: Which, link: Option<<O::Radio as Radio>::Link>) {
        let Some(device) = self.devices.get_mut(which) else { return };
        device.link = link;
        if let Some(drain) = device.drain.take() {
            drain.end().await;
        }
    }

    fn listen(&mut self, which: Which, stream: Option<BoxStream<'static, Notification>>) {
        let (Some(device), Some(stream)) = (self.devices.get_mut(which), stream) else { return };
        let outlet = Outlet {
            role: device.wanted.role,
            profile: Arc::clone(&device.wanted.profile),
            timeline: self.timeline.clone(),
            heard: Arc::clone(&device.heard),
            queue: self.queue.clone(),
        };
        device.drain = Some(Drain::start(outlet, stream));
    }

    fn identify(&mut self, which: Which) {
        let now_s = self.timeline.now_s();
        let Some(device) = self.devices.get_mut(which) else { return };
        device.battery_asked_s = now_s;
        let (Some(link), offered) = (device.link.clone(), device.offered.clone()) else { return };
        self.calls
            .spawn(async move { Answer::Identified(which, calls::identify(link, offered).await) });
    }

    fn ask_batteries(&mut self) {
        let now_s = self.timeline.now_s();
        for (which, device) in self.devices.iter_mut().enumerate() {
            let due = device.streaming && now_s - device.battery_asked_s >= BATTERY_S;
            let (true, Some(link)) = (due, device.link.clone()) else { continue };
            device.battery_asked_s = now_s;
            let offered = device.offered.clone();
            self.calls.spawn(async move {
                Answer::Battery(which, calls::battery(link, &offered, true).await)
            });
        }
    }

    /// The radio is dead: nothing of it is used any more.
    async fn close_radio(&mut self) {
        (self.radio, self.news) = (None, None);
        for which in 0..self.devices.len() {
            self.relink(which, None).await;
        }
    }

    /// Hands nothing on any more; what is left is to leave the sensors.
    async fn hush(mut self) -> Farewell<O::Radio> {
        self.calls.shutdown().await;
        for drain in self.devices.iter().filter_map(|device| device.drain.as_ref()) {
            drain.hush();
        }
        Farewell { devices: self.devices, radio: self.radio, news: self.news }
    }
}

/// The next news; for ever nothing where none are heard.
async fn next(news: &mut Option<BoxStream<'static, RadioNews>>) -> Option<RadioNews> {
    match news {
        Some(stream) => stream.next().await,
        None => std::future::pending().await,
    }
}

fn parts<T>(outcome: Result<T, Trouble>) -> (Option<T>, Result<(), Trouble>) {
    match outcome {
        Ok(value) => (Some(value), Ok(())),
        Err(trouble) => (None, Err(trouble)),
    }
}
