//! Which samples a notification holds, and when the sensor took them by its own clock.

use crate::clock::{HostClock, SensorTime};
use crate::counter::{Step, Unroll};
use crate::frame::Frame;
use crate::profile::{Counts, Profile, StreamLayout, TimestampField};

/// A notification that was decoded.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heard<'a> {
    /// Which of the profile's streams it belongs to.
    pub(super) stream: usize,
    pub(super) layout: &'a StreamLayout,
    pub(super) frame: Frame<'a>,
    pub(super) arrival_s: f64,
}

/// The first sample of a notification.
#[derive(Debug, Clone, Copy)]
pub(super) struct Numbered {
    pub(super) first: u64,
    pub(super) sensor_s: f64,
    pub(super) ticks: u64,
}

/// How far back a notification may lie and still be late rather than of another epoch, s.
const LATEST_S: f64 = 2.0;

/// A notification from further in the future than this is of another epoch, s.
const SOONEST_S: f64 = 1.0;

/// By so much a clock or rate that is not measured yet may be off.
const UNMEASURED_RATE: f64 = 0.1;

/// Samples left over from before the link was lost reach at most this far beyond its last, s.
const LEFTOVER_S: f64 = 0.5;

#[derive(Debug, Clone)]
pub(super) struct Numbering {
    rate_hz: f64,
    counter: Option<Counter>,
    ticks: Option<Ticks>,
    /// Samples heard of each stream: their number where the sensor gives none.
    heard: Vec<u64>,
    newest: Newest,
    time: SensorTime,
}

#[derive(Debug, Clone, Copy)]
struct Counter {
    unroll: Unroll,
    /// Samples per step of the counter.
    per_step: u64,
}

#[derive(Debug, Clone, Copy)]
struct Ticks {
    unroll: Unroll,
    field: TimestampField,
    origin: u64,
}

/// The newest notification: its first sample, how many it had, and which one was stamped.
#[derive(Debug, Clone, Copy)]
struct Newest {
    first: u64,
    number: u64,
    stamped: u64,
}

impl Ticks {
    fn seconds(&self, total: u64) -> f64 {
        (total.saturating_sub(self.origin)) as f64 * self.field.tick_s
            - (self.origin.saturating_sub(total)) as f64 * self.field.tick_s
    }
}

impl Numbering {
    /// Starts at a notification, which is then to be handed to [`Self::next`] as well.
    pub(super) fn start(profile: &Profile, heard: &Heard<'_>) -> Self {
        let counter = heard.layout.counter.zip(heard.frame.raw_counter()).map(|(field, raw)| {
            let per_step = match field.counts {
                Counts::Samples => 1,
                Counts::Notifications => heard.frame.number() as u64,
            };
            Counter { unroll: Unroll::start(field.word.bits(), raw), per_step }
        });
        let ticks = heard.layout.timestamp.zip(heard.frame.raw_ticks()).map(|(field, raw)| Ticks {
            unroll: Unroll::start(field.word.bits(), raw),
            field,
            origin: raw,
        });
        let first =
            counter.map_or(0, |counter| counter.unroll.newest().saturating_mul(counter.per_step));
        let number = heard.frame.number() as u64;
        let stamped = first.saturating_add(stamped_offset(heard));
        Self {
            rate_hz: profile.rate_hz(),
            counter,
            ticks,
            heard: vec![0; profile.streams().len()],
            newest: Newest { first, number, stamped },
            time: SensorTime::start(stamped, 0.0, 1.0 / profile.rate_hz()),
        }
    }

    /// The first sample of the newest notification.
    pub(super) const fn first(&self) -> u64 {
        self.newest.first
    }

    /// The sensor's own time of its samples.
    pub(super) const fn time(&self) -> &SensorTime {
        &self.time
    }

    /// Whether the sensor sends its own time.
    pub(super) const fn has_timestamps(&self) -> bool {
        self.ticks.is_some()
    }

    /// Ticks per sample; 1 without timestamps, where the counter stands for them.
    pub(super) fn ticks_per_sample(&self) -> f64 {
        self.ticks.map_or(1.0, |ticks| self.time.period_s() / ticks.field.tick_s)
    }

    /// A silence after which the counter may have rolled over unseen, or, where nothing tells of
    /// losses, after which the samples can no longer be counted on, s.
    pub(super) fn longest_silence_s(&self) -> f64 {
        let span_s = match (self.counter, self.ticks) {
            (Some(counter), _) => {
                counter.unroll.span() as f64 * counter.per_step as f64 / self.rate_hz
            }
            (None, Some(ticks)) => ticks.unroll.span() as f64 * ticks.field.tick_s,
            (None, None) => return (3.0 * self.newest.number as f64 / self.rate_hz).max(1.0),
        };
        0.75 * span_s
    }

    /// Numbers the samples of a notification; `None` when it cannot be of this epoch.
    pub(super) fn next(
        &mut self,
        heard: &Heard<'_>,
        clock: &HostClock,
        elapsed_s: f64,
    ) -> Option<Numbered> {
        let number = heard.frame.number() as u64;
        let tick_step = self.tick_step(heard);
        let counter_step = self.counter_step(heard);
        let first = match (self.counter, counter_step, self.ticks, tick_step) {
            (Some(counter), Some(step), ..) => {
                counter.unroll.total(step).saturating_mul(counter.per_step)
            }
            (None, _, Some(_), Some(step)) => self.first_by_ticks(step, heard),
            _ => self.heard.get(heard.stream).copied().unwrap_or(0),
        };
        let stamped = first.saturating_add(stamped_offset(heard));
        let leeway_s = SOONEST_S + UNMEASURED_RATE * elapsed_s;
        let soonest_s = heard.arrival_s + leeway_s;
        let last_s = self.time.at(first.saturating_add(number - 1));
        let counted_only = self.counter.is_none() && self.ticks.is_none();
        if !counted_only && clock.undelayed_s(last_s) > soonest_s {
            return None;
        }
        if let (Some(ticks), Some(step)) = (self.ticks, tick_step) {
            let stamp_s = ticks.seconds(ticks.unroll.total(step));
            let turned_back = self.time.at(stamped) - stamp_s > leeway_s;
            if clock.undelayed_s(stamp_s) > soonest_s || turned_back {
                return None;
            }
            self.time.learn(stamped, stamp_s);
        }
        let ticks = self.take(counter_step, tick_step, first >= self.newest.first, stamped - first);
        if let Some(count) = self.heard.get_mut(heard.stream) {
            *count = count.saturating_add(number);
        }
        if first >= self.newest.first {
            self.newest = Newest { first, number, stamped };
        }
        Some(Numbered { first, sensor_s: self.time.at(first), ticks: ticks.unwrap_or(first) })
    }

    /// Whether a notification carries on where this epoch ended, although `away_s` have passed:
    /// then it was sent before the link was lost.
    pub(super) fn is_leftover(&self, heard: &Heard<'_>, away_s: f64) -> bool {
        let carries_on = |step: Step, seconds_per_step: f64| match step {
            Step::Ahead(steps) => {
                let ahead_s = steps as f64 * seconds_per_step;
                ahead_s <= LEFTOVER_S && away_s > ahead_s + SOONEST_S
            }
            Step::Behind(_) => true,
        };
        let by_counter = self.counter.zip(self.counter_step(heard)).map(|(counter, step)| {
            // A counter that shows the same value again soon says little.
            counter.unroll.span() > u64::from(u8::MAX) + 1
                && carries_on(step, counter.per_step as f64 / self.rate_hz)
        });
        let by_ticks = self
            .ticks
            .zip(self.tick_step(heard))
            .map(|(ticks, step)| carries_on(step, ticks.field.tick_s));
        by_counter.or(by_ticks).is_some() && by_counter != Some(false) && by_ticks != Some(false)
    }

    fn counter_step(&self, heard: &Heard<'_>) -> Option<Step> {
        let counter = self.counter?;
        let back = (LATEST_S * self.rate_hz) as u64 / counter.per_step.max(1);
        Some(counter.unroll.step(heard.frame.raw_counter()?, back))
    }

    fn tick_step(&self, heard: &Heard<'_>) -> Option<Step> {
        let ticks = self.ticks?;
        let back = (LATEST_S / ticks.field.tick_s) as u64;
        Some(ticks.unroll.step(heard.frame.raw_ticks()?, back))
    }

    /// The first sample's number where only timestamps tell it.
    fn first_by_ticks(&self, step: Step, heard: &Heard<'_>) -> u64 {
        let samples = |ticks: u64| (ticks as f64 / self.ticks_per_sample()).round() as u64;
        match step {
            Step::Behind(ticks) => self.newest.first.saturating_sub(samples(ticks)),
            Step::Ahead(ticks) if samples(ticks) == 0 => self.newest.first,
            Step::Ahead(ticks) => self
                .newest
                .stamped
                .saturating_add(samples(ticks))
                .saturating_sub(stamped_offset(heard))
                .max(self.newest.first.saturating_add(self.newest.number)),
        }
    }

    /// Moves counter and clock on, and returns the ticks of the first sample.
    fn take(
        &mut self,
        counter_step: Option<Step>,
        tick_step: Option<Step>,
        ahead: bool,
        stamped_offset: u64,
    ) -> Option<u64> {
        if let (Some(counter), Some(step), true) = (&mut self.counter, counter_step, ahead) {
            counter.unroll.take(step);
        }
        let per_sample = self.ticks_per_sample();
        let (ticks, step) = self.ticks.as_mut().zip(tick_step)?;
        let stamp = if ahead { ticks.unroll.take(step) } else { ticks.unroll.total(step) };
        Some(stamp.saturating_sub((stamped_offset as f64 * per_sample).round() as u64))
    }
}

/// How far after the first sample the stamped one is.
fn stamped_offset(heard: &Heard<'_>) -> u64 {
    match heard.layout.timestamp {
        Some(field) if field.of_last => heard.frame.number() as u64 - 1,
        _ => 0,
    }
}
