//! One epoch: from a sensor's start, or the link's, to the next.

use super::numbering::{Heard, Numbered, Numbering};
use super::output::{GapCause, Output, Reading};
use super::reorder::{Put, Reorder, Slot};
use super::sink::Sink;
use crate::clock::{HostClock, Limits};
use crate::frame::{Part, Triple};
use crate::profile::{Profile, StreamLayout};
use crate::sample::{Flags, Sample};

/// How long a sample may be waited for, s; never less than two notifications take.
const REORDER_S: f64 = 0.1;

/// Left-over notifications come at once when the link is up again, within this, s.
const LEFTOVER_FOR_S: f64 = 0.25;

/// The sensor's clock going on by so much more than its counter is a pause, s.
const PAUSE_S: f64 = 0.05;

#[derive(Debug, Clone)]
pub(super) struct Epoch {
    numbering: Numbering,
    reorder: Reorder,
    clock: HostClock,
    window: Window,
    last_arrival_s: f64,
    /// Counter and sensor time of the last sample that was handed out.
    last: Option<(u64, f64)>,
    leftovers_since_s: Option<f64>,
    stale: Option<StaleRun>,
}

/// How much may wait for what is missing.
#[derive(Debug, Clone, Copy)]
struct Window {
    samples: u64,
    seconds: f64,
}

/// Notifications one after the other that are all too old: the counter may have begun anew.
#[derive(Debug, Clone, Copy)]
struct StaleRun {
    since_s: f64,
    first: u64,
    next: u64,
    samples: u64,
}

impl Epoch {
    /// Starts with a notification, which is then to be pushed. `floor_s`: no sample may be placed
    /// at or before it.
    pub(super) fn start(
        profile: &Profile,
        heard: &Heard<'_>,
        known_slope: Option<f64>,
        floor_s: f64,
    ) -> Self {
        let numbering = Numbering::start(profile, heard);
        let limits = match (heard.layout.timestamp, known_slope) {
            (Some(field), _) => Limits::of_timestamps(field.tolerance_ppm),
            (None, Some(prior_slope)) => Limits { prior_slope, ..Limits::of_counter() },
            (None, None) => Limits::of_counter(),
        };
        let usual = profile.streams().iter().map(StreamLayout::usual).max().unwrap_or(1);
        let window = Window {
            samples: ((REORDER_S * profile.rate_hz()).ceil() as u64).max(2 * usual as u64),
            seconds: REORDER_S.max(2.0 * usual as f64 / profile.rate_hz()),
        };
        Self {
            reorder: Reorder::start(numbering.first(), window.samples),
            numbering,
            clock: HostClock::start(limits, floor_s),
            window,
            last_arrival_s: heard.arrival_s,
            last: None,
            leftovers_since_s: None,
            stale: None,
        }
    }

    /// Takes a notification; when it cannot be of this epoch, says why, and nothing is done.
    pub(super) fn push(
        &mut self,
        heard: &Heard<'_>,
        sink: &mut Sink,
        out: &mut Vec<Output>,
    ) -> Option<GapCause> {
        let elapsed_s = (heard.arrival_s - self.last_arrival_s).max(0.0);
        if elapsed_s > self.numbering.longest_silence_s() {
            return Some(GapCause::Silence);
        }
        let Some(numbered) = self.numbering.next(heard, &self.clock, elapsed_s) else {
            return Some(GapCause::Restart);
        };
        if self.began_anew(heard, numbered.first) {
            return Some(GapCause::Restart);
        }
        self.last_arrival_s = self.last_arrival_s.max(heard.arrival_s);
        let last = numbered.first.saturating_add(heard.frame.number() as u64 - 1);
        self.clock.observe(self.numbering.time().at(last), heard.arrival_s);
        self.put(heard, numbered, sink, out);
        self.hand_out(heard.arrival_s, sink, out);
        None
    }

    /// Whether a notification was sent before the link was lost. Only the first few can be.
    pub(super) fn is_leftover(&mut self, heard: &Heard<'_>) -> bool {
        let away_s = heard.arrival_s - self.last_arrival_s;
        if !self.numbering.is_leftover(heard, away_s) {
            return false;
        }
        let since_s = *self.leftovers_since_s.get_or_insert(heard.arrival_s);
        heard.arrival_s - since_s <= LEFTOVER_FOR_S
    }

    /// Hands out all that is waiting and gives up the rest.
    pub(super) fn finish(&mut self, sink: &mut Sink, out: &mut Vec<Output>) {
        while let Some((counter, slot)) = self.reorder.pop() {
            self.hand_out_one(counter, &slot, sink, out);
        }
    }

    pub(super) const fn clock(&self) -> &HostClock {
        &self.clock
    }

    pub(super) const fn numbering(&self) -> &Numbering {
        &self.numbering
    }

    /// Whether notifications that are all too old have come for so long, one after the other, that
    /// they are not late: the counter began anew a little before where it stood.
    fn began_anew(&mut self, heard: &Heard<'_>, first: u64) -> bool {
        let number = heard.frame.number() as u64;
        let next = first.saturating_add(number);
        if next > self.reorder.next() {
            self.stale = None;
            return false;
        }
        let run = match self.stale {
            Some(run) if run.first == first => run,
            Some(run) if run.next == first => {
                StaleRun { first, next, samples: run.samples + number, ..run }
            }
            _ => StaleRun { since_s: heard.arrival_s, first, next, samples: number },
        };
        self.stale = Some(run);
        run.samples > self.window.samples && heard.arrival_s - run.since_s >= REORDER_S
    }

    fn put(
        &mut self,
        heard: &Heard<'_>,
        numbered: Numbered,
        sink: &mut Sink,
        out: &mut Vec<Output>,
    ) {
        self.make_room(numbered.first, sink, out);
        let period_s = self.numbering.time().period_s();
        let ticks_per_sample = self.numbering.ticks_per_sample();
        for (index, raw) in heard.frame.samples().enumerate() {
            let slot = Slot {
                raw,
                arrival_s: heard.arrival_s,
                sensor_s: numbered.sensor_s + index as f64 * period_s,
                ticks: numbered.ticks + (index as f64 * ticks_per_sample).round() as u64,
            };
            let counters = sink.counters_mut();
            match self.reorder.put(numbered.first.saturating_add(index as u64), slot) {
                Put::InOrder => {}
                Put::Reordered => counters.reordered += 1,
                Put::Duplicate => counters.duplicate += 1,
                Put::Late => counters.late += 1,
            }
        }
    }

    /// Gives up what is missing further back than the window.
    fn make_room(&mut self, counter: u64, sink: &mut Sink, out: &mut Vec<Output>) {
        let furthest_back = counter.saturating_sub(self.window.samples);
        while self.reorder.next() < furthest_back {
            match self.reorder.pop() {
                Some((counter, slot)) => self.hand_out_one(counter, &slot, sink, out),
                None => sink.lose(self.reorder.skip_to(furthest_back)),
            }
        }
    }

    fn hand_out(&mut self, now_s: f64, sink: &mut Sink, out: &mut Vec<Output>) {
        loop {
            while let Some((counter, slot)) = self.reorder.pop_complete() {
                self.hand_out_one(counter, &slot, sink, out);
            }
            match self.reorder.waiting_since_s() {
                Some(since_s) if now_s - since_s > self.window.seconds => {
                    let Some((counter, slot)) = self.reorder.pop() else { return };
                    self.hand_out_one(counter, &slot, sink, out);
                }
                _ => return,
            }
        }
    }

    fn hand_out_one(&mut self, counter: u64, slot: &Slot, sink: &mut Sink, out: &mut Vec<Output>) {
        let (accel, gyro) = match (slot.raw.accel, slot.raw.gyro) {
            (Part::Read(accel), Part::Read(gyro)) => (accel, gyro),
            (Part::Absent, _) | (_, Part::Absent) => return sink.lose(1),
            (Part::NoData, _) | (_, Part::NoData) => return sink.no_data(),
        };
        if let Some((before, before_s)) = self.last.replace((counter, slot.sensor_s)) {
            let steps = counter.saturating_sub(before) as f64;
            let counted_s = steps * self.numbering.time().period_s();
            if slot.sensor_s - before_s > counted_s + PAUSE_S {
                sink.pause();
            }
        }
        let sample = Sample {
            time_s: to_microseconds(self.clock.place(slot.sensor_s)),
            accel_m_s2: accel.values,
            gyro_rad_s: gyro.values,
            flags: Flags { accel_saturated: accel.saturated, gyro_saturated: gyro.saturated },
        };
        let counts = counts(&accel, &gyro);
        sink.reading(Reading { sample, counter, ticks: slot.ticks, counts }, out);
    }
}

fn counts(accel: &Triple, gyro: &Triple) -> Option<[i32; 6]> {
    let ([ax, ay, az], [gx, gy, gz]) = (accel.counts?, gyro.counts?);
    Some([ax, ay, az, gx, gy, gz])
}

/// A time to the whole microsecond: finer means nothing over a radio, and stored times compress to a
/// tenth.
fn to_microseconds(time_s: f64) -> f64 {
    (time_s * 1e6).round() / 1e6
}
