//! The task that sends every sensor's notifications in their time, with the faults that befall them.

use std::sync::Arc;

use tokio::sync::watch;

use super::pacer::Pacer;
use super::sensor::Sensor;
use super::signals;
use super::world::{World, lock};
use crate::session::Session;
use crate::session::on_air::{OnAir, Sent};

/// Sends for all sensors, and begins the visit once every worn one streams.
#[derive(Debug)]
pub(super) struct Feeder {
    world: Arc<World>,
    session: Session,
    pacer: Pacer,
    channels: Vec<Channel>,
    /// The visit's time zero, s of radio time, once it is known.
    zero_s: watch::Sender<Option<f64>>,
}

/// What is on its way from one sensor.
#[derive(Debug)]
struct Channel {
    sensor: Arc<Sensor>,
    on_air: OnAir,
    next: Sent,
    held: Vec<Sent>,
    swapped: Option<Sent>,
    silent_until_s: f64,
    held_until_s: f64,
}

impl Feeder {
    /// Switches sensors on; `on_air` are those of the world's sensors, in the same order.
    pub(super) fn new(
        world: Arc<World>,
        session: Session,
        on_air: Vec<OnAir>,
        pacer: Pacer,
        zero_s: watch::Sender<Option<f64>>,
    ) -> Self {
        let sensors = world.sensors.iter().map(Arc::clone);
        let channels = sensors.zip(on_air).map(|(sensor, on_air)| Channel::new(sensor, on_air));
        Self { channels: channels.collect(), world, session, pacer, zero_s }
    }

    /// Sends for ever.
    pub(super) async fn run(mut self) {
        loop {
            let channels = self.channels.iter_mut();
            let next = channels.min_by(|a, b| a.next.at_s.total_cmp(&b.next.at_s));
            let Some(channel) = next else {
                return;
            };
            self.pacer.until(channel.next.at_s).await;
            for sent in channel.advance() {
                deliver(&self.world, &channel.sensor, &sent).await;
            }
            self.begin_when_all_stream();
        }
    }

    fn begin_when_all_stream(&mut self) {
        if self.zero_s.borrow().is_some() {
            return;
        }
        let worn = || self.channels.iter().filter(|channel| channel.sensor.role.is_some());
        if worn().all(|channel| channel.sensor.streams()) {
            let (first, zero_s) = self.session.earliest_visit(self.pacer.now_s());
            for channel in &mut self.channels {
                if channel.sensor.role.is_some() {
                    channel.on_air.begin(first, zero_s);
                }
            }
            self.zero_s.send_replace(Some(zero_s));
        }
    }
}

/// Sends a notification, where there is a link and somebody has subscribed; otherwise it is lost.
async fn deliver(world: &World, sensor: &Sensor, sent: &Sent) {
    let Some(path) = sensor.open_path(sent.characteristic) else {
        return;
    };
    let Ok(message) = signals::notification(path, &sent.bytes) else {
        return;
    };
    if world.send(&message).await {
        let mut state = lock(&sensor.state);
        state.sent.notifications += 1;
        state.sent.bytes += sent.bytes.len() as u64;
    }
}

impl Channel {
    fn new(sensor: Arc<Sensor>, mut on_air: OnAir) -> Self {
        let next = on_air.next();
        let (held, swapped) = (Vec::new(), None);
        Self { sensor, on_air, next, held, swapped, silent_until_s: 0.0, held_until_s: 0.0 }
    }

    /// Takes the next notification, and gives what comes through now: nothing, it, or more.
    fn advance(&mut self) -> Vec<Sent> {
        let mut state = lock(&self.sensor.state);
        let faults = &mut state.faults;
        if std::mem::take(&mut faults.restart) {
            self.on_air.restart();
        }
        if faults.shake_s > 0.0 {
            self.on_air.shake(std::mem::take(&mut faults.shake_s));
        }
        let mut sent = std::mem::replace(&mut self.next, self.on_air.next());
        let now_s = sent.at_s;
        self.silent_until_s = self.silent_until_s.max(until(now_s, &mut faults.silent_s));
        self.held_until_s = self.held_until_s.max(until(now_s, &mut faults.hold_s));
        if now_s < self.silent_until_s || one_of(&mut faults.lose) {
            return Vec::new();
        }
        if one_of(&mut faults.corrupt) {
            corrupt(&mut sent.bytes);
        }
        if self.swapped.is_none() && one_of(&mut faults.swap) {
            self.swapped = Some(sent);
            return Vec::new();
        }
        let again = one_of(&mut faults.repeat).then(|| sent.clone());
        self.held.push(sent);
        self.held.extend(again);
        self.held.extend(self.swapped.take());
        if now_s < self.held_until_s { Vec::new() } else { std::mem::take(&mut self.held) }
    }
}

/// When a fault that is to last so long from now is over; it has begun then.
fn until(now_s: f64, lasts_s: &mut f64) -> f64 {
    let lasts_s = std::mem::take(lasts_s);
    if lasts_s > 0.0 { now_s + lasts_s } else { 0.0 }
}

/// Uses up one of a number, if there is one.
const fn one_of(number: &mut u32) -> bool {
    let any = *number > 0;
    *number = number.saturating_sub(1);
    any
}

/// Makes a frame that no layout can take for a good one: another first byte, and cut short.
fn corrupt(bytes: &mut Vec<u8>) {
    bytes.pop();
    if let Some(first) = bytes.first_mut() {
        *first = !*first;
    }
}
