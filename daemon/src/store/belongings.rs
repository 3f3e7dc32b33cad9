//! What belongs to a visit, read table by table.

use std::collections::HashMap;

use endarc_analysis::orientation::BiasState;
use endarc_analysis::result::Barriers;
use rusqlite::{Connection, Row};

use super::reader::{maybe_word, word};
use super::records::{RepetitionRecord, Span, VisitSensor};
use super::rows::{Alignment, Gap, GyroBias, Mark, RepetitionValue, Verdict};
use super::words::ValueKind;
use super::{RepetitionId, SpanId, VisitId, raw};

type Rows<T> = rusqlite::Result<Vec<T>>;

pub(super) fn spans(db: &Connection, visit: VisitId) -> Rows<Span> {
    let sql = "SELECT id, trial_type, side, start_s, end_s FROM phase_span
               WHERE visit = ?1 ORDER BY start_s, id";
    all(db, sql, visit, |row| {
        Ok(Span {
            id: SpanId(row.get(0)?),
            trial_type: word(row, 1)?,
            side: maybe_word(row, 2)?,
            start_s: row.get(3)?,
            end_s: row.get(4)?,
        })
    })
}

pub(super) fn sensors(db: &Connection, visit: VisitId) -> Rows<VisitSensor> {
    let sql = "SELECT role, strap_epoch, from_s, address, name, serial, profile,
                      accel_m_s2_per_count, gyro_rad_s_per_count, numbers
               FROM visit_sensor JOIN sensor ON sensor.id = visit_sensor.sensor
                                 LEFT JOIN calibration
                                           ON calibration.id = visit_sensor.calibration
               WHERE visit = ?1 ORDER BY role, strap_epoch";
    all(db, sql, visit, |row| {
        Ok(VisitSensor {
            role: word(row, 0)?,
            strap_epoch: row.get(1)?,
            from_s: row.get(2)?,
            address: row.get(3)?,
            name: row.get(4)?,
            serial: row.get(5)?,
            profile: row.get(6)?,
            scale: raw::scale(row.get(7)?, row.get(8)?),
            calibration: maybe_word(row, 9)?,
        })
    })
}

pub(super) fn alignments(db: &Connection, visit: VisitId) -> Rows<Alignment> {
    let sql = "SELECT role, strap_epoch, at_s, kind, knee_axis_x, knee_axis_y, knee_axis_z,
                      long_axis_x, long_axis_y, long_axis_z, residual_deg, uncertainty_deg,
                      neutral_deg, algorithm_version
               FROM alignment WHERE visit = ?1 ORDER BY id";
    all(db, sql, visit, |row| {
        Ok(Alignment {
            visit,
            role: word(row, 0)?,
            strap_epoch: row.get(1)?,
            at_s: row.get(2)?,
            kind: word(row, 3)?,
            knee_axis: [row.get(4)?, row.get(5)?, row.get(6)?],
            long_axis: [row.get(7)?, row.get(8)?, row.get(9)?],
            residual_deg: row.get(10)?,
            uncertainty_deg: row.get(11)?,
            neutral_deg: row.get(12)?,
            algorithm_version: row.get(13)?,
        })
    })
}

pub(super) fn repetitions(db: &Connection, visit: VisitId) -> Rows<RepetitionRecord> {
    let sql = "SELECT repetition.id, side, phase, direction, number, rater.code, end_criterion,
                      strap_epoch, start_s, end_range_at_s, hold_s, struck_out
               FROM repetition LEFT JOIN rater ON rater.id = repetition.rater
               WHERE visit = ?1 ORDER BY end_range_at_s, repetition.id";
    let mut repetitions = all(db, sql, visit, |row| {
        Ok(RepetitionRecord {
            id: RepetitionId(row.get(0)?),
            side: word(row, 1)?,
            phase: word(row, 2)?,
            direction: word(row, 3)?,
            number: row.get(4)?,
            rater: maybe_word(row, 5)?,
            end_criterion: maybe_word(row, 6)?,
            strap_epoch: row.get(7)?,
            start_s: row.get(8)?,
            end_range_at_s: row.get(9)?,
            hold_s: row.get(10)?,
            struck_out: row.get(11)?,
            live: None,
            finals: Vec::new(),
        })
    })?;
    let mut values = values(db, visit)?;
    for repetition in &mut repetitions {
        for value in values.remove(&repetition.id).unwrap_or_default() {
            match value.kind {
                ValueKind::Live => repetition.live = Some(value),
                ValueKind::Final => repetition.finals.push(value),
            }
        }
    }
    Ok(repetitions)
}

/// The values of a visit's repetitions, oldest first.
fn values(
    db: &Connection,
    visit: VisitId,
) -> rusqlite::Result<HashMap<RepetitionId, Vec<RepetitionValue>>> {
    let sql = "SELECT repetition, kind, algorithm_version, end_range_deg, uncertainty_deg,
                      value.start_s, value.end_range_at_s, value.hold_s, knee_flexion_deg,
                      pelvis_roll_deg, flags, computed_at, barrier_start_deg, barrier_end_deg,
                      barrier_start_s, barrier_end_s
               FROM repetition_value AS value JOIN repetition ON repetition.id = value.repetition
               WHERE visit = ?1 ORDER BY julianday(computed_at), algorithm_version";
    let mut values: HashMap<RepetitionId, Vec<RepetitionValue>> = HashMap::new();
    for (repetition, value) in
        all(db, sql, visit, |row| Ok((RepetitionId(row.get(0)?), repetition_value(row)?)))?
    {
        values.entry(repetition).or_default().push(value);
    }
    Ok(values)
}

fn repetition_value(row: &Row<'_>) -> rusqlite::Result<RepetitionValue> {
    let flags: String = row.get(10)?;
    Ok(RepetitionValue {
        kind: word(row, 1)?,
        algorithm_version: row.get(2)?,
        end_range_deg: row.get(3)?,
        uncertainty_deg: row.get(4)?,
        start_s: row.get(5)?,
        end_range_at_s: row.get(6)?,
        hold_s: row.get(7)?,
        knee_flexion_deg: row.get(8)?,
        pelvis_roll_deg: row.get(9)?,
        flags: flags.split(',').filter(|flag| !flag.is_empty()).map(str::to_owned).collect(),
        computed_at: word(row, 11)?,
        barriers: barriers(row)?,
    })
}

fn barriers(row: &Row<'_>) -> rusqlite::Result<Option<Barriers>> {
    let start_deg: Option<f64> = row.get(12)?;
    let Some(start_deg) = start_deg else { return Ok(None) };
    let (end_deg, start_s, end_s) = (row.get(13)?, row.get(14)?, row.get(15)?);
    Ok(Some(Barriers { start_deg, end_deg, start_s, end_s }))
}

pub(super) fn gyro_biases(db: &Connection, visit: VisitId) -> Rows<GyroBias> {
    let sql = "SELECT role, strap_epoch, at_s, x_rad_s, y_rad_s, z_rad_s, x_sd_rad_s, y_sd_rad_s,
                      z_sd_rad_s, learnt_at_s, algorithm_version
               FROM gyro_bias WHERE visit = ?1 ORDER BY at_s, id";
    all(db, sql, visit, |row| {
        Ok(GyroBias {
            visit,
            role: word(row, 0)?,
            strap_epoch: row.get(1)?,
            at_s: row.get(2)?,
            state: BiasState {
                bias_rad_s: [row.get(3)?, row.get(4)?, row.get(5)?],
                sd_rad_s: [row.get(6)?, row.get(7)?, row.get(8)?],
                learnt_at_s: row.get(9)?,
            },
            algorithm_version: row.get(10)?,
        })
    })
}

pub(super) fn verdicts(db: &Connection, visit: VisitId) -> Rows<Verdict> {
    let sql = "SELECT side, direction, baseline_count, retest_count, baseline_mean_deg,
                      retest_mean_deg, change_deg, ci95_low_deg, ci95_high_deg, mdc95_deg,
                      mdc95_source, finding, statement, algorithm_version, computed_at
               FROM verdict WHERE visit = ?1 ORDER BY julianday(computed_at), id";
    all(db, sql, visit, |row| {
        let low: Option<f64> = row.get(7)?;
        let high: Option<f64> = row.get(8)?;
        Ok(Verdict {
            visit,
            side: word(row, 0)?,
            direction: maybe_word(row, 1)?,
            baseline_count: row.get(2)?,
            retest_count: row.get(3)?,
            baseline_mean_deg: row.get(4)?,
            retest_mean_deg: row.get(5)?,
            change_deg: row.get(6)?,
            ci95_deg: low.zip(high).map(|(low, high)| [low, high]),
            mdc95_deg: row.get(9)?,
            mdc95_source: row.get(10)?,
            finding: word(row, 11)?,
            statement: row.get(12)?,
            algorithm_version: row.get(13)?,
            computed_at: word(row, 14)?,
        })
    })
}

pub(super) fn gaps(db: &Connection, visit: VisitId) -> Rows<Gap> {
    let sql = "SELECT role, from_s, to_s, lost, cause FROM gap
               WHERE visit = ?1 ORDER BY from_s, id";
    all(db, sql, visit, |row| {
        Ok(Gap {
            visit,
            role: word(row, 0)?,
            from_s: row.get(1)?,
            to_s: row.get(2)?,
            lost: row.get(3)?,
            cause: word(row, 4)?,
        })
    })
}

pub(super) fn marks(db: &Connection, visit: VisitId) -> Rows<Mark> {
    let sql = "SELECT at_s, kind, note FROM mark WHERE visit = ?1 ORDER BY at_s, id";
    all(db, sql, visit, |row| {
        Ok(Mark { visit, at_s: row.get(0)?, kind: row.get(1)?, note: row.get(2)? })
    })
}

fn all<T>(
    db: &Connection,
    sql: &str,
    visit: VisitId,
    read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> Rows<T> {
    db.prepare_cached(sql)?.query_map([visit.0], read)?.collect()
}
