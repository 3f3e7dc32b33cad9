//! What lies in a data folder's database, read past the program.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, Row};
use serde_json::{Value, json};

/// The database of a data folder.
#[must_use]
pub fn file(data: &Path) -> PathBuf {
    data.join("endarc.sqlite")
}

/// Raw samples of each sensor that are stored, by its role.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn raw_samples(data: &Path) -> BTreeMap<String, u64> {
    let connection = open(data);
    let mut query = connection
        .prepare("SELECT role, sum(count) FROM raw_chunk GROUP BY role")
        .expect("raw samples are stored in chunks");
    let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).expect("rows");
    let sized = |(role, count): (String, i64)| (role, u64::try_from(count).expect("a count"));
    rows.map(|row| sized(row.expect("a row"))).collect()
}

/// The live values of one leg's repetitions, in the shape in which `analyse` prints them; those
/// struck out among them.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn live_values(data: &Path, side: &str) -> Vec<Value> {
    values(data, side, "live")
}

/// The same for the `live` or the `final` values.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn values(data: &Path, side: &str, kind: &str) -> Vec<Value> {
    let connection = open(data);
    let mut query = connection
        .prepare(
            "SELECT phase, direction, value.end_range_deg, value.uncertainty_deg,
                    value.end_range_at_s, value.flags
             FROM repetition JOIN repetition_value value ON value.repetition = repetition.id
             WHERE side = ? AND kind = ?",
        )
        .expect("each repetition has values");
    let shape = |row: &Row<'_>| {
        Ok(json!({
            "phase": row.get::<_, String>(0)?,
            "direction": row.get::<_, String>(1)?,
            "end_range_deg": row.get::<_, f64>(2)?,
            "uncertainty_deg": row.get::<_, f64>(3)?,
            "end_range_at_s": row.get::<_, f64>(4)?,
            "flags": row.get::<_, String>(5)?,
        }))
    };
    let rows = query.query_map([side, kind], shape).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

/// A stretch without samples, as it is stored.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Where the sensor is worn.
    pub role: String,
    /// The last sample before it, s of visit time.
    pub from_s: f64,
    /// The first sample after it, s of visit time.
    pub to_s: f64,
    /// Samples that the sensor's counter shows to be missing.
    pub lost: u64,
    /// Why.
    pub cause: String,
}

/// All gaps, by time.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn gaps(data: &Path) -> Vec<Gap> {
    let connection = open(data);
    let mut query = connection
        .prepare("SELECT role, from_s, to_s, lost, cause FROM gap ORDER BY from_s")
        .expect("gaps are stored");
    let gap = |row: &Row<'_>| {
        let lost: i64 = row.get(3)?;
        let lost = u64::try_from(lost).expect("a count");
        Ok(Gap {
            role: row.get(0)?,
            from_s: row.get(1)?,
            to_s: row.get(2)?,
            lost,
            cause: row.get(4)?,
        })
    };
    let rows = query.query_map([], gap).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

/// How many epochs of its clock each sensor's stored samples belong to, by its role.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn epochs(data: &Path) -> BTreeMap<String, u64> {
    let connection = open(data);
    let mut query = connection
        .prepare("SELECT role, count(DISTINCT counter_epoch) FROM raw_chunk GROUP BY role")
        .expect("a chunk tells its epoch");
    let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).expect("rows");
    let sized = |(role, count): (String, i64)| (role, u64::try_from(count).expect("a count"));
    rows.map(|row| sized(row.expect("a row"))).collect()
}

/// Where sensors were worn whose samples were corrected with a calibration, sorted.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn calibrated_roles(data: &Path) -> Vec<String> {
    let connection = open(data);
    let mut query = connection
        .prepare("SELECT role FROM visit_sensor WHERE calibration IS NOT NULL ORDER BY role")
        .expect("the calibration is stored with the visit's sensor");
    let rows = query.query_map([], |row| row.get(0)).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

/// The addresses of the sensors of a data folder's only visit, by where they were worn.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn addresses(data: &Path) -> BTreeMap<String, String> {
    let connection = open(data);
    let mut query = connection
        .prepare("SELECT role, address FROM visit_sensor JOIN sensor ON sensor.id = sensor")
        .expect("a visit has sensors");
    let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

/// The newest calibration, in the shape in which `sensors calibrate --json` prints it.
///
/// # Panics
/// When the database cannot be read or holds none.
#[must_use]
pub fn newest_calibration(data: &Path) -> String {
    let query = "SELECT numbers FROM calibration ORDER BY id DESC LIMIT 1";
    open(data).query_row(query, [], |row| row.get(0)).expect("a calibration is stored")
}

/// The table that the newest visit was measured on.
///
/// # Panics
/// When the database cannot be read or holds no visit.
#[must_use]
pub fn table_of_the_newest_visit(data: &Path) -> Option<String> {
    let query = "SELECT name FROM visit LEFT JOIN table_level ON table_level.id = table_level
                 LEFT JOIN treatment_table ON treatment_table.id = treatment_table
                 ORDER BY visit.id DESC LIMIT 1";
    open(data).query_row(query, [], |row| row.get(0)).expect("a visit is stored")
}

/// When the last raw sample that is stored was taken, s of visit time.
///
/// # Panics
/// When the database cannot be read or holds none.
#[must_use]
pub fn last_raw_sample_s(data: &Path) -> f64 {
    let query = "SELECT max(end_s) FROM raw_chunk";
    open(data).query_row(query, [], |row| row.get(0)).expect("a sample is stored")
}

/// Whether SQLite finds the database whole.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn is_whole(data: &Path) -> bool {
    let report: String =
        open(data).query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("a report");
    report == "ok"
}

/// Holds the database so that nobody else can use it, as long as the answer lives.
///
/// # Panics
/// When it cannot be taken.
#[must_use]
pub fn lock(data: &Path) -> Connection {
    let connection = Connection::open(file(data)).expect("the database opens");
    connection
        .execute_batch("PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE;")
        .expect("the database is free");
    connection
}

/// Holds the right to write, as long as the answer lives; others may read.
///
/// # Panics
/// When it cannot be taken.
#[must_use]
pub fn hold_writes(data: &Path) -> Connection {
    let connection = Connection::open(file(data)).expect("the database opens");
    connection.busy_timeout(Duration::from_secs(30)).expect("it can wait");
    connection.execute_batch("BEGIN IMMEDIATE").expect("nobody holds it for long");
    connection
}

fn open(data: &Path) -> Connection {
    Connection::open_with_flags(file(data), OpenFlags::SQLITE_OPEN_READ_ONLY)
        .expect("the database opens")
}
