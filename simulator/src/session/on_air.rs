//! What one sensor sends from the moment it is switched on: at rest before the visit, through the
//! visit, and at rest after it.
//!
//! Radio time counts from the peripheral's start. The visit may begin at any whole frame; from
//! there on every reading, loss and delay is drawn as in [`Session::notifications`], so the same
//! motion with the same noise is sent, however long the sensor rested before.

use std::collections::VecDeque;
use std::sync::Arc;

use endarc_protocol::profile::Profile;
use endarc_protocol::words::SensorRole;
use nalgebra::Vector3;
use uuid::Uuid;

use super::{Session, losses};
use crate::clock::{Moment, SensorClock};
use crate::framing::{Frame, Framing};
use crate::imu::Imu;
use crate::link::Arrivals;
use crate::motion::Motion;
use crate::motion::chain::{Felt, GRAVITY_M_S2};
use crate::readings::{Reading, per_frame};
use crate::scenario::Link;

/// From the decision to begin until the visit begins, at least, s.
const AHEAD_S: f64 = 0.5;

/// A sensor that is switched on: an endless supply of notifications, made as they are asked for.
#[derive(Debug)]
pub(crate) struct OnAir {
    motion: Arc<Motion>,
    worn: SensorRole,
    /// For how long the visit moves it.
    duration_s: f64,
    clock: SensorClock,
    /// Samples after which every stream's frame is full.
    block: u64,
    number: u64,
    /// Number and clock reading at which counter and clock were last set to zero.
    restarted: (u64, f64),
    restart: bool,
    now: Chain,
    visit: Option<Chain>,
    begins: Option<u64>,
    ready: VecDeque<Sent>,
    last_s: f64,
    shaken_until_s: f64,
}

/// What makes notifications of what is felt, with draws of its own.
#[derive(Debug)]
struct Chain {
    imu: Imu,
    framing: Framing,
    arrivals: Arrivals,
    /// Radio time at which its own time begins, s; for that of the visit, the visit's time zero.
    zero_s: f64,
}

/// One notification.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sent {
    /// When it arrives, s of radio time.
    pub(crate) at_s: f64,
    pub(crate) characteristic: Uuid,
    pub(crate) bytes: Vec<u8>,
}

impl Session {
    /// Switches one sensor on at radio time zero; `None` where there is none at that place.
    pub(crate) fn on_air(&self, place: usize) -> Option<OnAir> {
        let (spec, sensor) = (self.specs.get(place)?, self.sensors.get(place)?);
        let (role, profile) = (spec.role, &sensor.profile);
        let at_rest = Link { loss: 0.0, burst_every_s: 0.0, ..self.link };
        let chain = |link: Link, name: &str| Chain {
            imu: self.imu(spec, profile),
            framing: Framing::new(Arc::clone(profile), losses(link, self.seed, role, profile)),
            arrivals: Arrivals::new(link, self.seed, name),
            zero_s: 0.0,
        };
        Some(OnAir {
            motion: Arc::clone(&self.motion),
            worn: self.place(role),
            duration_s: self.duration_s,
            clock: self.clock(spec),
            block: block(profile),
            number: 0,
            restarted: (0, 0.0),
            restart: false,
            now: chain(at_rest, &format!("{role}/at rest")),
            visit: Some(chain(self.link, role.as_str())),
            begins: None,
            ready: VecDeque::new(),
            last_s: f64::NEG_INFINITY,
            shaken_until_s: 0.0,
        })
    }

    /// Switches on a sensor that belongs to nobody: it lies still. Its profile comes with it.
    pub(crate) fn spare_on_air(&self, number: u64) -> Option<(Arc<Profile>, OnAir)> {
        let mut other = self.clone();
        other.seed = self.seed.wrapping_add(number);
        let profile = Arc::clone(&other.sensors.first()?.profile);
        Some((profile, other.on_air(0)?))
    }

    /// When a visit that is decided on at a radio time can begin: the number of its first sample,
    /// and its time zero. Nothing that a sensor has read ahead is part of it.
    pub(crate) fn earliest_visit(&self, now_s: f64) -> (u64, f64) {
        let rate_hz = self.truth.rate_hz;
        let longest =
            self.sensors.iter().map(|sensor| block(&sensor.profile)).fold(1, least_common);
        let after = libm::ceil((now_s.max(0.0) + AHEAD_S) * rate_hz) as u64;
        let first = (after / longest + 2) * longest;
        (first, first as f64 / rate_hz)
    }
}

/// Samples after which a sensor's frames of every stream are full at once.
fn block(profile: &Profile) -> u64 {
    profile.streams().iter().map(per_frame).fold(1, least_common)
}

fn least_common(a: u64, b: u64) -> u64 {
    let (mut divisor, mut rest) = (a.max(1), b.max(1));
    while rest > 0 {
        (divisor, rest) = (rest, divisor % rest);
    }
    a.max(1) / divisor * b.max(1)
}

impl OnAir {
    /// Begins the visit with the sample of this number, which must be the first of a block and not
    /// taken yet; `zero_s` is the visit's time zero in radio time.
    pub(crate) fn begin(&mut self, first: u64, zero_s: f64) {
        if let Some(visit) = &mut self.visit {
            visit.zero_s = zero_s;
            self.begins = Some(first);
        }
    }

    /// Sets counter and clock to zero, as a sensor does that starts anew: at the next whole frame.
    pub(crate) const fn restart(&mut self) {
        self.restart = true;
    }

    /// Somebody takes it and shakes it for so long, s.
    pub(crate) fn shake(&mut self, lasts_s: f64) {
        self.shaken_until_s = self.clock.moment(self.number).visit_s + lasts_s;
    }

    /// The next notification.
    pub(crate) fn next(&mut self) -> Sent {
        loop {
            if let Some(sent) = self.ready.pop_front() {
                return sent;
            }
            self.take_sample();
        }
    }

    fn take_sample(&mut self) {
        if self.number.is_multiple_of(self.block) {
            self.start_block();
        }
        let moment = self.clock.moment(self.number);
        let mut felt = self.felt(moment.visit_s);
        if moment.visit_s < self.shaken_until_s {
            felt = shaken(felt, moment.visit_s);
        }
        let (number, reading_s) = self.restarted;
        let reading = Reading {
            number: self.number - number,
            moment: Moment { reading_s: moment.reading_s - reading_s, ..moment },
            values: self.now.imu.read(&felt),
        };
        self.number += 1;
        for frame in self.now.framing.take(&reading) {
            let zero_s = self.now.zero_s;
            let at_s = zero_s + self.now.arrivals.arrival_s(moment.visit_s - zero_s);
            self.last_s = self.last_s.max(at_s);
            let Frame { characteristic, bytes } = frame;
            self.ready.push_back(Sent { at_s: self.last_s, characteristic, bytes });
        }
    }

    fn start_block(&mut self) {
        if self.begins.is_some_and(|first| self.number >= first)
            && let Some(visit) = self.visit.take()
        {
            self.now = visit;
        }
        if std::mem::take(&mut self.restart) {
            self.restarted = (self.number, self.clock.moment(self.number).reading_s);
        }
    }

    /// What is felt at a radio time: the person holds still before the visit and after it.
    fn felt(&self, at_s: f64) -> Felt {
        let begun = self.visit.is_none();
        let visit_s = if begun { at_s - self.now.zero_s } else { 0.0 };
        if begun && visit_s <= self.duration_s {
            return self.motion.felt(self.worn, visit_s.max(0.0));
        }
        let held = self.motion.felt(self.worn, visit_s.min(self.duration_s));
        let force_m_s2 = held.force_m_s2.normalize() * GRAVITY_M_S2;
        Felt { force_m_s2, rate_rad_s: held.rate_rad_s * 0.0 }
    }
}

/// The same, felt while somebody turns the sensor to and fro in the hand, twice a second.
fn shaken(felt: Felt, time_s: f64) -> Felt {
    let swing = libm::sin(4.0 * std::f64::consts::PI * time_s);
    let axis = Vector3::new(1.0, 0.4, -0.3);
    Felt {
        force_m_s2: felt.force_m_s2 + axis * (2.0 * swing),
        rate_rad_s: felt.rate_rad_s + axis * (3.0 * swing),
    }
}

#[cfg(test)]
mod tests;
