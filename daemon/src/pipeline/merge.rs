//! Samples of all sensors, and marks, in order of visit time.
//!
//! Sensors send in bursts and late; a mark is made at once. What is fed to a leg must be in order
//! of the time at which it happened, so that the same visit gives the same values live as from its
//! recording.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use crate::visit::{Command, SpanMark};

/// How long a late sensor is waited for, s. Longer than a radio link's usual stall of 0.2 s; within
/// the 0.7 s in which a capture must be told.
const PATIENCE_S: f64 = 0.3;

/// A sensor that has been silent for longer holds nobody up, s.
const GONE_AFTER_S: f64 = 1.0;

/// What is put in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Item {
    /// A span ends.
    SpanEnded(SpanMark),
    /// A span begins.
    SpanBegan(SpanMark),
    /// The therapist said something.
    Command(Command),
    /// A sample, and when its notification came, s on the daemon's clock.
    Sample(SensorRole, Sample, f64),
}

impl Item {
    /// What comes first of the same moment: marks, then the pelvis, then the shanks, so that a
    /// shank's angle has the pelvis of its moment.
    const fn rank(&self) -> u8 {
        match self {
            Self::SpanEnded(_) => 0,
            Self::SpanBegan(_) => 1,
            Self::Command(_) => 2,
            Self::Sample(SensorRole::Pelvis, ..) => 3,
            Self::Sample(..) => 4,
        }
    }
}

/// One item and when it happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Timed {
    pub(super) time_s: f64,
    pub(super) item: Item,
}

/// How far one sensor has come.
#[derive(Debug, Clone, Copy)]
struct Progress {
    role: SensorRole,
    /// Its newest sample, s of visit time.
    newest_s: f64,
    /// When it last sent, s of visit time.
    heard_s: f64,
}

/// Holds items back until nothing earlier can come any more, within [`PATIENCE_S`].
#[derive(Debug, Default)]
pub(super) struct Merge {
    sensors: Vec<Progress>,
    /// In order of time and rank.
    waiting: std::collections::VecDeque<Timed>,
}

impl Merge {
    /// Expects samples of these sensors from `start_s` on: one that has not been heard yet is
    /// waited for as if it had just fallen silent.
    pub(super) fn new(roles: &[SensorRole], start_s: f64) -> Self {
        let progress = |&role| Progress { role, newest_s: f64::NEG_INFINITY, heard_s: start_s };
        Self { sensors: roles.iter().map(progress).collect(), ..Self::default() }
    }

    /// Takes an item at `now_s`.
    pub(super) fn push(&mut self, time_s: f64, item: Item, now_s: f64) {
        if let Item::Sample(role, ..) = item
            && let Some(sensor) = self.sensors.iter_mut().find(|sensor| sensor.role == role)
        {
            sensor.newest_s = sensor.newest_s.max(time_s);
            sensor.heard_s = now_s;
        }
        let comes_before =
            |other: &Timed| (other.time_s, other.item.rank()) <= (time_s, item.rank());
        // Mostly the place is near the end.
        let place = self.waiting.iter().rposition(comes_before).map_or(0, |place| place + 1);
        self.waiting.insert(place, Timed { time_s, item });
    }

    /// The next item that nothing earlier can come before any more.
    pub(super) fn pop(&mut self, now_s: f64) -> Option<Timed> {
        let complete_s = self.complete_s(now_s);
        let ready = self.waiting.front().is_some_and(|first| first.time_s <= complete_s);
        if ready { self.waiting.pop_front() } else { None }
    }

    /// Whatever is left, at the end.
    pub(super) fn pop_any(&mut self) -> Option<Timed> {
        self.waiting.pop_front()
    }

    /// Up to when everything has come, s.
    fn complete_s(&self, now_s: f64) -> f64 {
        let here = |sensor: &&Progress| now_s - sensor.heard_s <= GONE_AFTER_S;
        let slowest_s = self
            .sensors
            .iter()
            .filter(here)
            .map(|sensor| sensor.newest_s)
            .min_by(f64::total_cmp)
            .unwrap_or(f64::NEG_INFINITY);
        slowest_s.max(now_s - PATIENCE_S)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use endarc_protocol::words::TrialType;

    const ROLES: [SensorRole; 2] = [SensorRole::LeftShank, SensorRole::Pelvis];

    fn sample(role: SensorRole, time_s: f64) -> Item {
        Item::Sample(role, Sample { time_s, ..Sample::default() }, 0.0)
    }

    fn begin(time_s: f64) -> Item {
        Item::SpanBegan(SpanMark { trial_type: TrialType::Baseline, side: None, time_s })
    }

    fn popped(merge: &mut Merge, now_s: f64) -> Vec<f64> {
        std::iter::from_fn(|| merge.pop(now_s)).map(|timed| timed.time_s).collect()
    }

    #[test]
    fn a_burst_is_put_between_the_samples_of_the_other_sensor() {
        let mut merge = Merge::new(&ROLES, 0.0);
        for n in 0..4 {
            let time_s = f64::from(n) * 0.02;
            merge.push(time_s, sample(SensorRole::LeftShank, time_s), 0.08);
        }
        assert_eq!(popped(&mut merge, 0.08), [0.0_f64; 0]);
        for n in 0..4 {
            let time_s = f64::from(n) * 0.02 + 0.01;
            merge.push(time_s, sample(SensorRole::Pelvis, time_s), 0.09);
        }
        assert_eq!(popped(&mut merge, 0.09), [0.0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06]);
    }

    #[test]
    fn a_mark_comes_before_the_sample_of_its_moment_and_the_pelvis_before_the_shank() {
        let mut merge = Merge::new(&ROLES, 0.0);
        merge.push(1.0, sample(SensorRole::LeftShank, 1.0), 1.0);
        merge.push(1.0, sample(SensorRole::Pelvis, 1.0), 1.0);
        merge.push(1.0, begin(1.0), 1.01);
        let ranks: Vec<u8> =
            std::iter::from_fn(|| merge.pop(1.01)).map(|timed| timed.item.rank()).collect();
        assert_eq!(ranks, [1, 3, 4]);
    }

    #[test]
    fn a_late_sensor_is_waited_for_but_not_for_long() {
        let mut merge = Merge::new(&ROLES, 0.0);
        merge.push(1.0, sample(SensorRole::Pelvis, 1.0), 1.0);
        merge.push(1.1, sample(SensorRole::LeftShank, 1.1), 1.1);
        assert_eq!(popped(&mut merge, 1.3), [1.0]);
        assert_eq!(popped(&mut merge, 1.41), [1.1]);
    }

    #[test]
    fn a_sensor_that_is_gone_holds_nobody_up() {
        let mut merge = Merge::new(&ROLES, 0.0);
        merge.push(1.0, sample(SensorRole::Pelvis, 1.0), 1.0);
        merge.push(2.9, sample(SensorRole::LeftShank, 2.9), 2.91);
        assert_eq!(popped(&mut merge, 2.91), [1.0, 2.9]);
    }
}
