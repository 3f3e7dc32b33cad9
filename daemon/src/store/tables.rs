//! Treatment tables and how level they are, written and read.

use endarc_analysis::levelling::{LevellingMethod, TableLevel};
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::reader::{ReadError, word};
use super::{Reader, VisitId};

/// A table's tilt to be kept. A table that was never named is stored with it.
#[derive(Debug, Clone, PartialEq)]
pub struct NewTableLevel {
    /// The table's name.
    pub table: String,
    /// When it was measured.
    pub levelled_at: Timestamp,
    /// What was found.
    pub level: TableLevel,
}

/// A treatment table and how level it is.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRecord {
    /// Its name.
    pub name: String,
    /// When its tilt was last measured.
    pub levelled_at: Timestamp,
    /// The tilt.
    pub level: TableLevel,
}

pub(super) fn write_level(db: &Connection, new: &NewTableLevel) -> rusqlite::Result<i64> {
    db.prepare_cached("INSERT OR IGNORE INTO treatment_table (name) VALUES (?1)")?
        .execute([&new.table])?;
    let method = match new.level.method {
        LevellingMethod::Turned => TURNED,
        LevellingMethod::OneRest => ONE_REST,
    };
    db.prepare_cached(
        "INSERT INTO table_level (treatment_table, levelled_at, method, sideways_deg,
                                  sideways_sd_deg, head_foot_deg, head_foot_sd_deg)
         VALUES ((SELECT id FROM treatment_table WHERE name = ?1), ?2, ?3, ?4, ?5, ?6, ?7)",
    )?
    .insert(params![
        new.table,
        new.levelled_at.to_string(),
        method,
        new.level.sideways_rad.to_degrees(),
        new.level.sideways_sd_rad.to_degrees(),
        new.level.head_foot_rad.to_degrees(),
        new.level.head_foot_sd_rad.to_degrees(),
    ])
}

/// The levelling that holds for a table from now on counts for a visit; without a name none does.
pub(super) fn use_table(
    db: &Connection,
    visit: VisitId,
    table: Option<&str>,
) -> rusqlite::Result<i64> {
    let newest = "SELECT table_level.id FROM table_level JOIN treatment_table
                       ON treatment_table.id = table_level.treatment_table
                  WHERE name = ?1 ORDER BY table_level.id DESC LIMIT 1";
    let level: Option<i64> = match table {
        Some(name) => Some(db.prepare_cached(newest)?.query_row([name], |row| row.get(0))?),
        None => None,
    };
    db.prepare_cached("UPDATE visit SET table_level = ?2 WHERE id = ?1")?
        .execute(params![visit.0, level])?;
    Ok(visit.0)
}

/// The table that a visit was measured on, with the levelling that counted.
pub(super) fn of_visit(db: &Connection, visit: VisitId) -> rusqlite::Result<Option<TableRecord>> {
    let sql = format!(
        "SELECT {COLUMNS} FROM visit JOIN table_level ON table_level.id = visit.table_level
                              JOIN treatment_table
                                   ON treatment_table.id = table_level.treatment_table
         WHERE visit.id = ?1"
    );
    db.prepare_cached(&sql)?.query_row([visit.0], table).optional()
}

impl Reader {
    /// Every table with its newest tilt, by name.
    ///
    /// # Errors
    /// [`ReadError`].
    pub fn tables(&self) -> Result<Vec<TableRecord>, ReadError> {
        let sql = format!(
            "SELECT {COLUMNS}
                   FROM treatment_table JOIN table_level
                        ON table_level.id = (SELECT max(id) FROM table_level
                                             WHERE treatment_table = treatment_table.id)
                   ORDER BY name"
        );
        let mut rows = self.connection().prepare_cached(&sql)?;
        let rows = rows.query_map([], table)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
}

const COLUMNS: &str = "name, levelled_at, method, sideways_deg, sideways_sd_deg, head_foot_deg,
     head_foot_sd_deg";

fn table(row: &Row<'_>) -> rusqlite::Result<TableRecord> {
    let angle = |column| row.get::<_, f64>(column).map(f64::to_radians);
    let method = match row.get::<_, String>(2)?.as_str() {
        TURNED => LevellingMethod::Turned,
        // The database lets no third word in.
        _ => LevellingMethod::OneRest,
    };
    let level = TableLevel {
        sideways_rad: angle(3)?,
        sideways_sd_rad: angle(4)?,
        head_foot_rad: angle(5)?,
        head_foot_sd_rad: angle(6)?,
        method,
    };
    Ok(TableRecord { name: row.get(0)?, levelled_at: word(row, 1)?, level })
}

const TURNED: &str = "turned";
const ONE_REST: &str = "one-rest";
