//! `endarc sensors list`: known sensors, where they are worn, their battery and last calibration.

use std::path::Path;

use endarc_analysis::orientation::STANDARD_GRAVITY_M_S2;
use endarc_protocol::words::SensorRole;
use jiff::Timestamp;
use serde::Serialize;

use crate::commands::stdio;
use crate::commands::table::Table;
use crate::error::{Failure, chain};
use crate::store::{ReadError, Reader, SensorRecord};
use crate::{clock, folders};

/// List the sensors that are known: where they are worn, battery, last calibration
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Print one JSON array instead of a table
    #[arg(long)]
    json: bool,
}

/// One sensor of `endarc sensors list --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct SensorJson {
    /// What tells it apart from every other device.
    address: String,
    /// The name it was given, or else gives itself.
    name: Option<String>,
    /// Where it is worn; null if it is not assigned.
    role: Option<SensorRole>,
    /// Its battery when it was last connected, percent; null where that is not known.
    battery_percent: Option<u8>,
    /// When that was read, UTC.
    battery_at: Option<String>,
    /// What it says of itself: manufacturer, model, serial number, firmware.
    description: Option<String>,
    /// How often it was calibrated.
    calibrations: usize,
    /// When it was last calibrated, UTC; null if never.
    calibrated_at: Option<String>,
    /// How long ago that is, days.
    age_days: Option<f64>,
    /// How warm it was then, °C.
    temperature_c: Option<f64>,
    /// One standard uncertainty of the accelerometer's offset by now (the worst axis), m/s².
    accel_offset_sd_m_s2: f64,
}

impl SensorJson {
    fn new(sensor: &SensorRecord, now: Timestamp) -> Self {
        let last = sensor.calibrations.last();
        let prior = last.map(|last| last.offset_prior(now)).unwrap_or_default();
        Self {
            address: sensor.address.clone(),
            name: sensor.name.clone(),
            role: sensor.role,
            battery_percent: sensor.battery_percent,
            battery_at: sensor.battery_at.map(|at| at.to_string()),
            description: sensor.description.clone(),
            calibrations: sensor.calibrations.len(),
            calibrated_at: last.map(|last| last.calibrated_at.to_string()),
            age_days: last.map(|last| last.age_days(now)),
            temperature_c: last.and_then(|last| last.temperature_c),
            accel_offset_sd_m_s2: prior.largest_sd_m_s2(),
        }
    }

    fn row(&self) -> [String; 7] {
        let age = |days: f64| if days < 1.0 { "today".to_owned() } else { format!("{days:.0} d") };
        let dash = || "–".to_owned();
        // A tilt of one radian is a gravity's worth of acceleration.
        let tilt_deg = (self.accel_offset_sd_m_s2 / STANDARD_GRAVITY_M_S2).to_degrees();
        [
            self.address.clone(),
            self.name.clone().unwrap_or_else(dash),
            self.role.map_or_else(dash, |role| role.to_string()),
            self.battery_percent.map_or_else(dash, |percent| format!("{percent} %")),
            self.age_days.map_or_else(|| "never".to_owned(), age),
            self.temperature_c.map_or_else(dash, |celsius| format!("{celsius:.0} °C")),
            format!("{tilt_deg:.2}°"),
        ]
    }
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(|error| Failure::Said(error.to_string()))?;
    if data_dir.is_some() && !data.is_dir() {
        return Err(Failure::at(data, "there is no such folder: check --data-dir"));
    }
    let known = match Reader::open(&data).and_then(|reader| reader.sensors()) {
        Ok(sensors) => sensors,
        Err(ReadError::NoDatabase { .. }) => Vec::new(),
        Err(error) => return Err(Failure::Said(chain(&error))),
    };
    let now = clock::wall().timestamp();
    let sensors: Vec<SensorJson> = known.iter().map(|one| SensorJson::new(one, now)).collect();
    if args.json {
        return stdio::answer_json(&sensors);
    }
    if sensors.is_empty() {
        stdio::note(&format!("no sensors are known in {}", data.display()));
        return Ok(());
    }
    let mut table = Table::new([
        "sensor",
        "name",
        "worn as",
        "battery",
        "calibrated",
        "at",
        "tilt uncertainty now",
    ]);
    sensors.iter().for_each(|sensor| table.push(sensor.row()));
    stdio::answer(|out| table.write(out))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sensor_calibration::tests::example;

    #[test]
    fn a_calibration_counts_by_its_age() {
        let now = "2026-11-04T10:00:00Z".parse().unwrap();
        let calibrations = vec![example("AA:01"), example("AA:01")];
        let known = SensorRecord {
            address: "AA:01".into(),
            name: None,
            role: Some(SensorRole::Pelvis),
            battery_percent: Some(87),
            battery_at: None,
            description: None,
            calibrations,
        };
        let never = SensorRecord { calibrations: Vec::new(), ..known.clone() };
        let row = SensorJson::new(&known, now).row();
        assert_eq!(row, ["AA:01", "–", "pelvis", "87 %", "3 d", "23 °C", "0.22°"]);
        let row = SensorJson::new(&never, now).row();
        assert_eq!(row, ["AA:01", "–", "pelvis", "87 %", "never", "–", "1.75°"]);
    }
}
