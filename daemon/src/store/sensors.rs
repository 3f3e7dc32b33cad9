//! Known sensors with their calibrations, written and read.

use rusqlite::{Connection, OptionalExtension, params};

use super::Reader;
use super::reader::{ReadError, word};
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
    /// The name it gave itself.
    pub name: Option<String>,
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
        let sql = "SELECT address, name FROM sensor ORDER BY address";
        let mut sensors = self.connection().prepare_cached(sql)?;
        let sensors = sensors.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let sensors: Vec<(String, Option<String>)> = sensors.collect::<rusqlite::Result<_>>()?;
        let with_history = |(address, name): (String, Option<String>)| {
            let calibrations = history(self.connection(), &address)?;
            Ok(SensorRecord { address, name, calibrations })
        };
        sensors.into_iter().map(with_history).collect()
    }

    /// The calibration that holds for the sensor with this address.
    ///
    /// # Errors
    /// [`ReadError`].
    pub fn calibration(&self, address: &str) -> Result<Option<SensorCalibration>, ReadError> {
        Ok(history(self.connection(), address)?.pop())
    }
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
