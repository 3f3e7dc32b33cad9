//! What a data folder's database keeps of its only visit: spans and repetitions.

use std::path::Path;

use rusqlite::{Connection, OpenFlags, Row};

use crate::database::file;

/// What one algorithm made of a repetition.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// Leg, phase and direction.
    pub what: [String; 3],
    /// End range along the direction, degrees.
    pub end_range_deg: f64,
    /// One standard uncertainty, degrees.
    pub uncertainty_deg: f64,
    /// When the limb left neutral, s of visit time.
    pub start_s: f64,
    /// When the end range was reached, s of visit time.
    pub end_range_at_s: f64,
    /// How long it was held, s.
    pub hold_s: f64,
    /// What there is to be said of it.
    pub flags: Vec<String>,
}

/// When the visit's first span began, s of visit time.
///
/// # Panics
/// When the database cannot be read or holds none.
#[must_use]
pub fn first_span_s(data: &Path) -> f64 {
    let query = "SELECT min(start_s) FROM phase_span";
    open(data).query_row(query, [], |row| row.get(0)).expect("a span is stored")
}

/// The values of one kind (`live` or `final`), by time; those struck out are not among them.
///
/// # Panics
/// When the database cannot be read.
#[must_use]
pub fn values(data: &Path, kind: &str) -> Vec<Value> {
    let query = "SELECT side, phase, direction, value.end_range_deg, value.uncertainty_deg,
                        value.start_s, value.end_range_at_s, value.hold_s, value.flags
                 FROM repetition JOIN repetition_value value ON value.repetition = repetition.id
                 WHERE kind = ? AND struck_out IS NULL ORDER BY value.start_s";
    let value = |row: &Row<'_>| {
        let flags: String = row.get(8)?;
        Ok(Value {
            what: [row.get(0)?, row.get(1)?, row.get(2)?],
            end_range_deg: row.get(3)?,
            uncertainty_deg: row.get(4)?,
            start_s: row.get(5)?,
            end_range_at_s: row.get(6)?,
            hold_s: row.get(7)?,
            flags: flags.split(',').filter(|flag| !flag.is_empty()).map(str::to_owned).collect(),
        })
    };
    let connection = open(data);
    let mut query = connection.prepare(query).expect("repetitions have values");
    let rows = query.query_map([kind], value).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

fn open(data: &Path) -> Connection {
    Connection::open_with_flags(file(data), OpenFlags::SQLITE_OPEN_READ_ONLY)
        .expect("the database opens")
}
