//! A whole visit, simulated.

use std::sync::Arc;

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::{Sample, Values};
use endarc_protocol::words::SensorRole;

use crate::clock::{Moment, SensorClock};
use crate::imu::{Imu, Resolution};
use crate::motion::Motion;
use crate::plan::Plan;
use crate::scenario::{Scenario, SensorSpec};
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
    rate_hz: f64,
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
}

impl Session {
    /// Simulates everything that does not depend on the single sample; samples and notifications
    /// are made when asked for.
    #[must_use]
    pub fn new(scenario: &Scenario) -> Self {
        let plan = Plan::new(scenario);
        let sensors = scenario.sensors.iter().enumerate();
        Self {
            motion: Arc::new(plan.motion),
            events: plan.events,
            truth: plan.truth,
            duration_s: plan.duration_s,
            sensors: sensors.map(|(place, spec)| info(place, spec)).collect(),
            specs: scenario.sensors.clone(),
            rate_hz: scenario.rate_hz,
            seed: scenario.seed,
        }
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

    /// One sensor's samples on the common clock, with the sensor's errors; none where no sensor has
    /// the role.
    pub fn samples(&self, role: SensorRole) -> impl Iterator<Item = Sample> + use<> {
        let place = self.sensors.iter().position(|sensor| sensor.role == role);
        let readings = place.and_then(|place| self.readings(place));
        readings
            .into_iter()
            .flatten()
            .map(|reading| Sample::at(reading.moment.visit_s, reading.values))
    }

    fn readings(&self, place: usize) -> Option<Readings> {
        let spec = self.specs.get(place)?;
        let mut phase = Chance::new(self.seed, &format!("phase/{}", spec.role));
        let (ppm, offset_s) = (spec.clock_ppm, spec.clock_offset_s);
        Some(Readings {
            motion: Arc::clone(&self.motion),
            role: spec.role,
            clock: SensorClock::new(self.rate_hz, ppm, offset_s, phase.unit()),
            imu: Imu::new(spec, self.rate_hz, RESOLUTIONS, self.seed),
            number: 0,
            duration_s: self.duration_s,
        })
    }
}

fn info(place: usize, spec: &SensorSpec) -> SensorInfo {
    let number = place + 1;
    SensorInfo {
        role: spec.role,
        name: spec.name.clone().unwrap_or_else(|| format!("IMU {number}")),
        // The second lowest bit of the first byte marks an address that no maker has assigned.
        address: spec
            .address
            .clone()
            .unwrap_or_else(|| format!("02:00:00:00:00:{number:02X}")),
    }
}

/// 16 bit over ±4 g and ±500 °/s.
const RESOLUTIONS: (Resolution, Resolution) = {
    let (accel, gyro) = (4.0 * 9.806_65, 500.0 * std::f64::consts::PI / 180.0);
    (
        Resolution {
            step: accel / 32_768.0,
            limit: accel,
        },
        Resolution {
            step: gyro / 32_768.0,
            limit: gyro,
        },
    )
};

/// One reading of one sensor.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    /// Counted from 0.
    pub(crate) number: u64,
    pub(crate) moment: Moment,
    pub(crate) values: Values,
}

/// All readings of one sensor, whether they arrive or not.
#[derive(Debug)]
pub(crate) struct Readings {
    motion: Arc<Motion>,
    role: SensorRole,
    clock: SensorClock,
    imu: Imu,
    number: u64,
    duration_s: f64,
}

impl Iterator for Readings {
    type Item = Reading;

    fn next(&mut self) -> Option<Reading> {
        let number = self.number;
        let moment = self.clock.moment(number);
        if moment.visit_s > self.duration_s {
            return None;
        }
        self.number += 1;
        let felt = self.motion.felt(self.role, moment.visit_s);
        Some(Reading {
            number,
            moment,
            values: self.imu.read(&felt),
        })
    }
}
