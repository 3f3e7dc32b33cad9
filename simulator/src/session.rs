//! A whole visit, simulated.

#[cfg(all(feature = "peripheral", target_os = "linux"))]
pub(crate) mod on_air;

use std::sync::Arc;

use endarc_protocol::events_csv::Event;
use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use crate::clock::SensorClock;
use crate::imu::Imu;
use crate::link::{Arrivals, Losses};
use crate::motion::Motion;
use crate::notifications::{Notifications, SensorNotifications};
use crate::plan::Plan;
use crate::readings::{Arriving, Readings, per_frame, resolutions, whole_frames};
use crate::scenario::{Link, ProfileName, Scenario, SensorSpec};
use crate::seed::Chance;
use crate::truth::Truth;

/// A visit as it comes of a [`Scenario`]. Visit time zero is the scenario's start.
#[derive(Debug, Clone)]
pub struct Session {
    motion: Arc<Motion>,
    events: Vec<Event>,
    truth: Truth,
    duration_s: f64,
    sensors: Vec<SensorInfo>,
    specs: Vec<SensorSpec>,
    link: Link,
    seed: u64,
}

/// What is known of a sensor from outside.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorInfo {
    /// Where it is worn.
    pub role: SensorRole,
    /// The name it advertises.
    pub name: String,
    /// Its address.
    pub address: String,
    /// How it writes what it sends.
    pub profile: Arc<Profile>,
}

impl Session {
    /// Simulates everything that does not depend on the single sample; samples and notifications
    /// are made when asked for.
    #[must_use]
    pub fn new(scenario: &Scenario) -> Self {
        let plan = Plan::new(scenario);
        let reference = Arc::new(Profile::reference());
        let sensors = scenario.sensors.iter().enumerate();
        Self {
            motion: Arc::new(plan.motion),
            events: plan.events,
            truth: plan.truth,
            duration_s: plan.duration_s,
            sensors: sensors.map(|(place, spec)| info(place, spec, &reference)).collect(),
            specs: scenario.sensors.clone(),
            link: scenario.link,
            seed: scenario.seed,
        }
    }

    /// The same visit with sensors that all speak another profile: readings have its steps and
    /// ranges, notifications its bytes. The sampling rate stays the scenario's.
    #[must_use]
    pub fn speaking(&self, profile: &Profile) -> Self {
        let profile = Arc::new(profile.clone());
        let mut session = self.clone();
        for sensor in &mut session.sensors {
            sensor.profile = Arc::clone(&profile);
        }
        session
    }

    /// The sensors, in the scenario's order.
    #[must_use]
    pub fn sensors(&self) -> &[SensorInfo] {
        &self.sensors
    }

    /// What was done when, on the common clock, in order of time.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// What really happened.
    #[must_use]
    pub const fn truth(&self) -> &Truth {
        &self.truth
    }

    /// How long the visit takes, s.
    #[must_use]
    pub const fn duration_s(&self) -> f64 {
        self.duration_s
    }

    /// One sensor's samples on the common clock, with the sensor's errors and without what the link
    /// loses; none where no sensor has the role.
    pub fn samples(&self, role: SensorRole) -> impl Iterator<Item = Sample> + use<> {
        let all = self.specs.iter().zip(&self.sensors);
        let worn = all.into_iter().find(|(spec, _)| spec.role == role);
        let samples = worn.map(|(spec, sensor)| {
            let per_frame = sensor.profile.streams().iter().map(per_frame);
            let losses = losses(self.link, self.seed, role, &sensor.profile);
            Arriving::new(self.readings(spec, &sensor.profile), per_frame.zip(losses))
        });
        samples.into_iter().flatten()
    }

    /// Every sensor's notifications in order of arrival. What the link loses is not among them, but
    /// has been counted by the sensor.
    #[must_use]
    pub fn notifications(&self) -> Notifications {
        let all = self.specs.iter().zip(&self.sensors).enumerate();
        Notifications::new(all.map(|(place, (spec, sensor))| {
            SensorNotifications::new(
                place,
                self.readings(spec, &sensor.profile),
                Arc::clone(&sensor.profile),
                losses(self.link, self.seed, spec.role, &sensor.profile),
                Arrivals::new(self.link, self.seed, spec.role.as_str()),
            )
        }))
    }

    fn readings(&self, spec: &SensorSpec, profile: &Profile) -> Readings {
        let clock = self.clock(spec);
        let end = whole_frames(profile, clock.samples_until(self.duration_s));
        let (motion, place) = (Arc::clone(&self.motion), self.place(spec.role));
        Readings::new(motion, place, clock, self.imu(spec, profile), end)
    }

    fn clock(&self, spec: &SensorSpec) -> SensorClock {
        let mut phase = Chance::new(self.seed, &format!("phase/{}", spec.role));
        let (ppm, offset_s) = (spec.clock_ppm, spec.clock_offset_s);
        SensorClock::new(self.truth.rate_hz, ppm, offset_s, phase.unit())
    }

    fn imu(&self, spec: &SensorSpec, profile: &Profile) -> Imu {
        Imu::new(spec, self.truth.rate_hz, resolutions(profile), self.seed)
    }

    /// Where the sensor that is meant for a place is really worn.
    fn place(&self, role: SensorRole) -> SensorRole {
        match role.side() {
            Some(side) if self.truth.exchanged => SensorRole::shank(side.other()),
            _ => role,
        }
    }
}

/// The losses of each of a sensor's streams.
fn losses(
    link: Link,
    seed: u64,
    role: SensorRole,
    profile: &Profile,
) -> impl Iterator<Item = Losses> + use<> {
    let streams = profile.streams().len();
    (0..streams).map(move |stream| Losses::new(&link, seed, &format!("{role}/{stream}")))
}

fn info(place: usize, spec: &SensorSpec, reference: &Arc<Profile>) -> SensorInfo {
    let number = place + 1;
    SensorInfo {
        role: spec.role,
        name: spec.name.clone().unwrap_or_else(|| format!("IMU {number}")),
        // The second lowest bit of the first byte marks an address that no maker has assigned.
        address: spec.address.clone().unwrap_or_else(|| format!("02:00:00:00:00:{number:02X}")),
        profile: match spec.profile {
            ProfileName::Reference => Arc::clone(reference),
        },
    }
}

#[cfg(test)]
mod tests;
