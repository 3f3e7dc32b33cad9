//! How a sensor was strapped on, and how it sat, as they are written.

use rusqlite::{Connection, params};

use super::rows::{Alignment, StrappedSensor};
use super::sensors::newest_calibration;
use super::words::Word;
use super::write::insert;

pub(super) fn strap_sensor(db: &Connection, new: &StrappedSensor) -> rusqlite::Result<i64> {
    db.prepare_cached(
        "INSERT INTO sensor (address, name, serial) VALUES (?1, ?2, ?3)
         ON CONFLICT (address) DO UPDATE SET name = ifnull(excluded.name, name),
                                             serial = ifnull(excluded.serial, serial)",
    )?
    .execute(params![new.address, new.name, new.serial])?;
    let calibration = if new.calibrated { newest_calibration(db, &new.address)? } else { None };
    insert(
        db,
        "INSERT INTO visit_sensor (visit, sensor, role, strap_epoch, from_s, profile,
                                   accel_m_s2_per_count, gyro_rad_s_per_count, calibration)
         VALUES (?1, (SELECT id FROM sensor WHERE address = ?2), ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            new.visit.0,
            new.address,
            Word(new.role),
            new.strap_epoch,
            new.from_s,
            new.profile,
            new.scale.map(|scale| scale.accel_m_s2_per_count),
            new.scale.map(|scale| scale.gyro_rad_s_per_count),
            calibration,
        ],
    )
}

pub(super) fn alignment(db: &Connection, new: &Alignment) -> rusqlite::Result<i64> {
    let ([kx, ky, kz], [lx, ly, lz]) = (new.knee_axis, new.long_axis);
    // What the same algorithm finds again takes the place of what it found before.
    db.prepare_cached(
        "DELETE FROM alignment WHERE visit = ?1 AND role = ?2 AND strap_epoch = ?3 AND at_s = ?4
                                     AND algorithm_version = ?5",
    )?
    .execute(params![
        new.visit.0,
        Word(new.role),
        new.strap_epoch,
        new.at_s,
        new.algorithm_version,
    ])?;
    insert(
        db,
        "INSERT INTO alignment (visit, role, strap_epoch, at_s, kind, knee_axis_x, knee_axis_y,
                                knee_axis_z, long_axis_x, long_axis_y, long_axis_z, residual_deg,
                                uncertainty_deg, neutral_deg, algorithm_version)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
        params![
            new.visit.0,
            Word(new.role),
            new.strap_epoch,
            new.at_s,
            Word(new.kind),
            kx,
            ky,
            kz,
            lx,
            ly,
            lz,
            new.residual_deg,
            new.uncertainty_deg,
            new.neutral_deg,
            new.algorithm_version,
        ],
    )
}
