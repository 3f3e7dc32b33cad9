//! Which sensors speak, and which have fallen silent.

use endarc_protocol::words::SensorRole;

use crate::live::LiveSensor;

/// A sensor that says nothing for this long is said to be silent (20 periods of the slowest
/// sensor in use, 20 Hz).
pub(super) const SILENT_AFTER_S: f64 = 1.0;

/// One sensor's book-keeping.
#[derive(Debug, Clone)]
struct Watch {
    role: SensorRole,
    received: u64,
    lost: u64,
    heard_s: Option<f64>,
    silent: bool,
}

/// All sensors of the visit.
#[derive(Debug, Clone)]
pub(super) struct Sensors {
    watches: Vec<Watch>,
}

impl Sensors {
    pub(super) fn new(roles: &[SensorRole]) -> Self {
        let watch = |&role| Watch { role, received: 0, lost: 0, heard_s: None, silent: false };
        Self { watches: roles.iter().map(watch).collect() }
    }

    /// Counts samples; returns whether the sensor had been silent.
    pub(super) fn received(&mut self, role: SensorRole, samples: u64, now_s: f64) -> bool {
        let Some(watch) = self.watch(role) else {
            return false;
        };
        watch.received = watch.received.saturating_add(samples);
        watch.heard_s = Some(now_s);
        std::mem::take(&mut watch.silent)
    }

    /// Counts lost samples.
    pub(super) fn lost(&mut self, role: SensorRole, lost: u64) {
        if let Some(watch) = self.watch(role) {
            watch.lost = watch.lost.saturating_add(lost);
        }
    }

    /// Sensors that have just fallen silent, each told once.
    pub(super) fn fallen_silent(&mut self, now_s: f64) -> Vec<SensorRole> {
        let mut fallen = Vec::new();
        for watch in &mut self.watches {
            let quiet = watch.heard_s.is_some_and(|heard_s| now_s - heard_s > SILENT_AFTER_S);
            if quiet && !watch.silent {
                watch.silent = true;
                fallen.push(watch.role);
            }
        }
        fallen
    }

    /// Silent sensors and when they were last heard, s.
    pub(super) fn silent(&self) -> impl Iterator<Item = (SensorRole, f64)> {
        self.watches
            .iter()
            .filter(|watch| watch.silent)
            .filter_map(|watch| Some((watch.role, watch.heard_s?)))
    }

    pub(super) fn is_silent(&self, role: SensorRole) -> bool {
        self.silent().any(|(silent, _)| silent == role)
    }

    pub(super) fn is_worn(&self, role: SensorRole) -> bool {
        self.watches.iter().any(|watch| watch.role == role)
    }

    /// Seconds since a sensor was last heard.
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
        };
        self.watches.iter().map(live).collect()
    }

    fn watch(&mut self, role: SensorRole) -> Option<&mut Watch> {
        self.watches.iter_mut().find(|watch| watch.role == role)
    }
}
