//! Which sensors speak, and which have fallen silent.

use endarc_protocol::words::SensorRole;

use super::event::Link;
use crate::live::{LinkWord, LiveSensor};

/// A sensor that says nothing for this long is said to be silent (20 periods of the slowest
/// sensor in use, 20 Hz).
pub(super) const SILENT_AFTER_S: f64 = 1.0;

/// A battery at or below this should be charged, percent: about an hour for many small sensors
/// (common practice).
const LOW_PERCENT: u8 = 15;

/// So many readings in a row make a battery low.
const LOW_READINGS: u8 = 2;

/// One sensor's book-keeping.
#[derive(Debug, Clone)]
struct Watch {
    role: SensorRole,
    received: u64,
    lost: u64,
    /// The last sample; `None` before the first.
    heard_s: Option<f64>,
    silent: bool,
    /// How its link is doing, where it has one.
    link: Option<LinkWord>,
    battery_percent: Option<u8>,
    /// How many readings in a row were low.
    battery_low: u8,
}

/// How a silence began.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Silence {
    /// The sensor had never been heard.
    SinceStart,
    /// It had been heard before.
    SinceSample,
}

/// The role of a sensor once the two on the shanks have changed places.
pub(crate) const fn exchanged(role: SensorRole) -> SensorRole {
    match role {
        SensorRole::LeftShank => SensorRole::RightShank,
        SensorRole::RightShank => SensorRole::LeftShank,
        other => other,
    }
}

/// All sensors of the visit.
#[derive(Debug, Clone)]
pub(super) struct Sensors {
    /// Since when samples are expected, s of visit time.
    start_s: f64,
    watches: Vec<Watch>,
}

impl Sensors {
    pub(super) fn new(roles: &[SensorRole], start_s: f64) -> Self {
        let watch = |&role| Watch {
            role,
            received: 0,
            lost: 0,
            heard_s: None,
            silent: false,
            link: None,
            battery_percent: None,
            battery_low: 0,
        };
        Self { start_s, watches: roles.iter().map(watch).collect() }
    }

    /// Counts samples; returns the silence that they end, if the sensor was said to be silent.
    pub(super) fn received(
        &mut self,
        role: SensorRole,
        samples: u64,
        now_s: f64,
    ) -> Option<Silence> {
        let watch = self.watch(role)?;
        watch.received = watch.received.saturating_add(samples);
        let silence = match watch.heard_s.replace(now_s) {
            None => Silence::SinceStart,
            Some(_) => Silence::SinceSample,
        };
        std::mem::take(&mut watch.silent).then_some(silence)
    }

    /// The sensors on the two shanks change places in the books.
    pub(super) fn exchange(&mut self) {
        for watch in &mut self.watches {
            watch.role = exchanged(watch.role);
        }
        self.watches.sort_by_key(|watch| watch.role);
    }

    /// Counts lost samples.
    pub(super) fn lost(&mut self, role: SensorRole, lost: u64) {
        if let Some(watch) = self.watch(role) {
            watch.lost = watch.lost.saturating_add(lost);
        }
    }

    /// Takes down how a link is doing; whether that is news.
    pub(super) fn link(&mut self, role: SensorRole, link: &Link) -> bool {
        let word = match link {
            Link::Searching => LinkWord::Searching,
            Link::Connecting => LinkWord::Connecting,
            Link::Streaming => LinkWord::Streaming,
            Link::Silent => LinkWord::Silent,
            Link::Lost => LinkWord::Lost,
            Link::Refused(_) => LinkWord::Refused,
        };
        self.watch(role).is_some_and(|watch| watch.link.replace(word) != Some(word))
    }

    /// Takes down a battery's level; gives it when it has just proved to be low: by two readings in a
    /// row, for a single one may be wrong.
    pub(super) fn battery(&mut self, role: SensorRole, percent: Option<u8>) -> Option<u8> {
        let watch = self.watch(role)?;
        watch.battery_percent = percent;
        let low = percent.filter(|percent| *percent <= LOW_PERCENT);
        watch.battery_low = low.map_or(0, |_| watch.battery_low.saturating_add(1));
        low.filter(|_| watch.battery_low == LOW_READINGS)
    }

    /// Sensors that have just fallen silent, each told once. One that was never heard is silent
    /// since the visit's start.
    pub(super) fn fallen_silent(&mut self, now_s: f64) -> Vec<SensorRole> {
        let mut fallen = Vec::new();
        for watch in &mut self.watches {
            let since_s = watch.heard_s.unwrap_or(self.start_s);
            if now_s - since_s > SILENT_AFTER_S && !watch.silent {
                watch.silent = true;
                fallen.push(watch.role);
            }
        }
        fallen
    }

    /// Silent sensors and since when: the last sample, or the visit's start, s.
    pub(super) fn silent(&self) -> impl Iterator<Item = (SensorRole, f64)> {
        let since = |watch: &Watch| (watch.role, watch.heard_s.unwrap_or(self.start_s));
        self.watches.iter().filter(|watch| watch.silent).map(since)
    }

    /// How long a sensor has been silent, s; `None` for one that speaks.
    pub(super) fn silent_for_s(&self, role: SensorRole, now_s: f64) -> Option<f64> {
        let (_, since_s) = self.silent().find(|&(silent, _)| silent == role)?;
        Some((now_s - since_s).max(0.0))
    }

    pub(super) fn is_worn(&self, role: SensorRole) -> bool {
        self.watches.iter().any(|watch| watch.role == role)
    }

    /// Seconds since a sensor was last heard; `None` before its first sample.
    pub(super) fn age_s(&self, role: SensorRole, now_s: f64) -> Option<f64> {
        let watch = self.watches.iter().find(|watch| watch.role == role)?;
        Some((now_s - watch.heard_s?).max(0.0))
    }

    /// As a viewer is shown them.
    pub(super) fn live(&self, now_s: f64) -> Vec<LiveSensor> {
        let live = |watch: &Watch| LiveSensor {
            role: watch.role,
            received: watch.received,
            lost: watch.lost,
            data_age_s: watch.heard_s.map(|heard_s| (now_s - heard_s).max(0.0)),
            // A visit does not look behind the samples it is fed: the pipeline knows.
            duplicate: 0,
            reordered: 0,
            late: 0,
            malformed: 0,
            saturated: 0,
            calibrated_at: None,
            link: watch.link,
            battery_percent: watch.battery_percent,
            battery_low: watch.battery_low >= LOW_READINGS,
        };
        self.watches.iter().map(live).collect()
    }

    fn watch(&mut self, role: SensorRole) -> Option<&mut Watch> {
        self.watches.iter_mut().find(|watch| watch.role == role)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H29: a low battery is said once, after two readings in a row.
    #[test]
    fn a_battery_is_low_after_two_readings() {
        let role = SensorRole::Pelvis;
        let mut sensors = Sensors::new(&[role], 0.0);
        let readings = [Some(12), None, Some(12), Some(80), Some(15), Some(14), Some(14)];
        let said: Vec<_> = readings.iter().map(|percent| sensors.battery(role, *percent)).collect();
        assert_eq!(said, [None, None, None, None, None, Some(14), None]);
        assert!(sensors.live(0.0)[0].battery_low);
        sensors.battery(role, Some(90));
        assert!(!sensors.live(0.0)[0].battery_low);
    }
}
