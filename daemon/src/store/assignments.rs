//! Which sensor is worn where, and what sensors say of themselves, written and read.

use endarc_protocol::words::SensorRole;
use jiff::Timestamp;
use rusqlite::{Connection, params};

use super::Reader;
use super::reader::{ReadError, word};
use super::words::Word;

/// A sensor is worn somewhere from now on: whatever was worn there, or wherever it was worn, is
/// over.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Where it is worn.
    pub role: SensorRole,
    /// What tells it apart from every other device.
    pub address: String,
    /// The name it was given here, or else gives itself.
    pub name: Option<String>,
    /// The name of the profile its frames are read with.
    pub profile: String,
    /// When it was assigned.
    pub assigned_at: Timestamp,
}

/// What a sensor says of itself; `None` leaves what is known as it is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SensorIdentity {
    /// What tells it apart from every other device.
    pub address: String,
    /// Who made it.
    pub manufacturer: Option<String>,
    /// Which model it is.
    pub model: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Its firmware's revision.
    pub firmware: Option<String>,
    /// Its battery's level, percent, and when that was read.
    pub battery: Option<(u8, Timestamp)>,
}

pub(super) fn assign(db: &Connection, new: &Assignment) -> rusqlite::Result<i64> {
    db.prepare_cached(
        "INSERT INTO sensor (address, name) VALUES (?1, ?2)
         ON CONFLICT (address) DO UPDATE SET name = ifnull(excluded.name, name)",
    )?
    .execute(params![new.address, new.name])?;
    db.prepare_cached(
        "DELETE FROM assignment
         WHERE role = ?1 OR sensor = (SELECT id FROM sensor WHERE address = ?2)",
    )?
    .execute(params![Word(new.role), new.address])?;
    db.prepare_cached(
        "INSERT INTO assignment (role, sensor, profile, assigned_at)
         VALUES (?1, (SELECT id FROM sensor WHERE address = ?2), ?3, ?4)",
    )?
    .execute(params![
        Word(new.role),
        new.address,
        new.profile,
        new.assigned_at.to_string()
    ])?;
    key(db, &new.address)
}

/// Takes a sensor's assignment back; one that no visit and no calibration speaks of is not known
/// any more.
pub(super) fn forget(db: &Connection, address: &str) -> rusqlite::Result<i64> {
    let sensor = key(db, address)?;
    db.prepare_cached("DELETE FROM assignment WHERE sensor = ?1")?.execute([sensor])?;
    db.prepare_cached(
        "DELETE FROM sensor WHERE id = ?1
            AND NOT EXISTS (SELECT 1 FROM visit_sensor WHERE sensor = ?1)
            AND NOT EXISTS (SELECT 1 FROM calibration WHERE sensor = ?1)",
    )?
    .execute([sensor])?;
    Ok(sensor)
}

pub(super) fn rename(db: &Connection, address: &str, name: Option<&str>) -> rusqlite::Result<i64> {
    let sensor = key(db, address)?;
    db.prepare_cached("UPDATE sensor SET given_name = ?2 WHERE id = ?1")?
        .execute(params![sensor, name])?;
    Ok(sensor)
}

pub(super) fn identity(db: &Connection, new: &SensorIdentity) -> rusqlite::Result<i64> {
    let sensor = key(db, &new.address)?;
    db.prepare_cached(
        "UPDATE sensor SET manufacturer = ifnull(?2, manufacturer), model = ifnull(?3, model),
                           serial = ifnull(?4, serial), firmware = ifnull(?5, firmware)
         WHERE id = ?1",
    )?
    .execute(params![sensor, new.manufacturer, new.model, new.serial, new.firmware])?;
    if let Some((percent, at)) = new.battery {
        db.prepare_cached("UPDATE sensor SET battery_percent = ?2, battery_at = ?3 WHERE id = ?1")?
            .execute(params![sensor, percent, at.to_string()])?;
    }
    Ok(sensor)
}

fn key(db: &Connection, address: &str) -> rusqlite::Result<i64> {
    db.prepare_cached("SELECT id FROM sensor WHERE address = ?1")?
        .query_row([address], |row| row.get(0))
}

impl Reader {
    /// Which sensors are worn where, by role.
    ///
    /// # Errors
    /// [`ReadError`].
    pub fn assignments(&self) -> Result<Vec<Assignment>, ReadError> {
        let sql = "SELECT role, address, ifnull(given_name, name), profile, assigned_at
                   FROM assignment JOIN sensor ON sensor.id = assignment.sensor ORDER BY role";
        let mut rows = self.connection().prepare_cached(sql)?;
        let rows = rows.query_map([], |row| {
            Ok(Assignment {
                role: word(row, 0)?,
                address: row.get(1)?,
                name: row.get(2)?,
                profile: row.get(3)?,
                assigned_at: word(row, 4)?,
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
}
