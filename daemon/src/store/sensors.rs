//! Known sensors with their calibrations, written and read.

use endarc_protocol::words::SensorRole;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::Reader;
use super::reader::{ReadError, maybe_word, word};
use crate::sensor_calibration::SensorCalibration;

/// A calibration to be kept. The sensor is the one with its address; one that was never seen is
/// stored with it.
#[derive(Debug, Clone, PartialEq)]
pub struct NewCalibration {
    /// The name the sensor gives itself, if known.
    pub name: Option<String>,
    /// What was found.
    pub calibration: SensorCalibration,
}

/// A sensor that was seen or calibrated.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorRecord {
    /// What tells it apart from every other device.
    pub address: String,
    /// The name it was given here, or else gave itself.
    pub name: Option<String>,
    /// Where it is worn, if it is assigned.
    pub role: Option<SensorRole>,
    /// Its battery when that was last read, percent.
    pub battery_percent: Option<u8>,
    /// When that was.
    pub battery_at: Option<Timestamp>,
    /// What it said of itself: manufacturer, model, serial number, firmware, as far as known.
    pub description: Option<String>,
    /// Its calibrations, the newest last: that one holds.
    pub calibrations: Vec<SensorCalibration>,
}

pub(super) fn write_calibration(db: &Connection, new: &NewCalibration) -> rusqlite::Result<i64> {
    let SensorCalibration { sensor, calibrated_at, temperature_c, .. } = &new.calibration;
    db.prepare_cached(
        "INSERT INTO sensor (address, name) VALUES (?1, ?2)
         ON CONFLICT (address) DO UPDATE SET name = ifnull(excluded.name, name)",
    )?
    .execute(params![sensor, new.name])?;
    let numbers = serde_json::to_string(&new.calibration)
        .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
    db.prepare_cached(
        "INSERT INTO calibration (sensor, calibrated_at, temperature_c, numbers)
         VALUES ((SELECT id FROM sensor WHERE address = ?1), ?2, ?3, ?4)",
    )?
    .insert(params![sensor, calibrated_at.to_string(), temperature_c, numbers])
}

impl Reader {
    /// Every sensor that was seen or calibrated, by address.
    ///
    /// # Errors
    /// [`ReadError`].
    pub fn sensors(&self) -> Result<Vec<SensorRecord>, ReadError> {
        let sql = "SELECT address, ifnull(given_name, name), role, battery_percent, battery_at,
                          manufacturer, model, serial, firmware
                   FROM sensor LEFT JOIN assignment ON assignment.sensor = sensor.id
                   ORDER BY address";
        let mut sensors = self.connection().prepare_cached(sql)?;
        let sensors = sensors.query_map([], record)?;
        let mut sensors: Vec<SensorRecord> = sensors.collect::<rusqlite::Result<_>>()?;
        for sensor in &mut sensors {
            sensor.calibrations = history(self.connection(), &sensor.address)?;
        }
        Ok(sensors)
    }

    /// The calibration that holds for the sensor with this address.
    ///
    /// # Errors
    /// [`ReadError`].
    pub fn calibration(&self, address: &str) -> Result<Option<SensorCalibration>, ReadError> {
        Ok(history(self.connection(), address)?.pop())
    }
}

fn record(row: &Row<'_>) -> rusqlite::Result<SensorRecord> {
    let said: [Option<String>; 4] = [row.get(5)?, row.get(6)?, row.get(7)?, row.get(8)?];
    let said: Vec<String> = said.into_iter().flatten().collect();
    Ok(SensorRecord {
        address: row.get(0)?,
        name: row.get(1)?,
        role: maybe_word(row, 2)?,
        battery_percent: row.get(3)?,
        battery_at: maybe_word(row, 4)?,
        description: (!said.is_empty()).then(|| said.join(", ")),
        calibrations: Vec::new(),
    })
}

fn history(db: &Connection, address: &str) -> Result<Vec<SensorCalibration>, ReadError> {
    let sql = "SELECT numbers FROM calibration JOIN sensor ON sensor.id = calibration.sensor
               WHERE address = ?1 ORDER BY calibration.id";
    let mut rows = db.prepare_cached(sql)?;
    let rows = rows.query_map([address], |row| word(row, 0))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// The key of the calibration that holds for the sensor with this address.
pub(super) fn newest_calibration(db: &Connection, address: &str) -> rusqlite::Result<Option<i64>> {
    db.prepare_cached(
        "SELECT calibration.id FROM calibration JOIN sensor ON sensor.id = calibration.sensor
         WHERE address = ?1 ORDER BY calibration.id DESC LIMIT 1",
    )?
    .query_row([address], |row| row.get(0))
    .optional()
}
