//! The commands of the writer, and what each does to the database.

use endarc_protocol::words::SensorRole;
use rusqlite::{Connection, OptionalExtension, params};

use super::chunk::encode;
use super::rows::{
    Alignment, AuditEntry, Gap, GyroBias, Look, Mark, NewRepetition, NewSpan, NewVisit, RawChunk,
    RepetitionValue, StrappedSensor, Verdict,
};
use super::sensors::write_calibration;
use super::tables::{use_table, write_level};
use super::words::{VisitState, Word};
use super::{
    Amendment, Assignment, Code, NewAnswer, NewCalibration, NewTableLevel, RepetitionId,
    SensorIdentity, SpanId, VisitId, amend, answers, assignments, exchange, looks, merge, recover,
    strap,
};

/// Something to store. Whatever refers to a visit, sensor or repetition comes after it.
#[derive(Debug, Clone, PartialEq)]
pub enum Write {
    /// A visit begins.
    BeginVisit(NewVisit),
    /// A visit ends: spans that still last end with it, and its chunks are merged.
    EndVisit {
        /// The visit.
        visit: VisitId,
        /// How it ended.
        state: VisitState,
        /// Visit time, s.
        ended_s: f64,
    },
    /// The wall clock was put right during a visit.
    ClockCorrected {
        /// The visit.
        visit: VisitId,
        /// By how much, s, forward positive; adds up.
        by_s: f64,
    },
    /// A stretch of a visit begins.
    BeginSpan(NewSpan),
    /// A stretch of a visit ends, and the visit's chunks are merged.
    EndSpan {
        /// The span.
        span: SpanId,
        /// Visit time, s.
        end_s: f64,
    },
    /// A sensor was strapped on.
    StrapSensor(StrappedSensor),
    /// A sensor's place was found.
    Alignment(Alignment),
    /// A repetition was captured.
    Repetition(NewRepetition),
    /// Another value of a repetition; a second one of the same kind and algorithm replaces the
    /// first.
    RepetitionValue {
        /// The repetition.
        repetition: RepetitionId,
        /// The value.
        value: RepetitionValue,
    },
    /// A repetition does not count after all; without a reason it counts again.
    StrikeOut {
        /// The repetition.
        repetition: RepetitionId,
        /// Why.
        reason: Option<String>,
    },
    /// Before against after.
    Verdict(Verdict),
    /// Raw samples.
    Chunk(RawChunk),
    /// What is known of a gyroscope's bias by now.
    GyroBias(GyroBias),
    /// Samples are missing.
    Gap(Gap),
    /// Somebody marked a moment.
    Mark(Mark),
    /// A look at an open comparison.
    Look(Look),
    /// Something was answered in a guided visit.
    Answer(Box<NewAnswer>),
    /// Something was done to the records.
    Audit(AuditEntry),
    /// A person puts something right.
    Amend(Box<Amendment>),
    /// A sensor was calibrated.
    Calibration(Box<NewCalibration>),
    /// A sensor of a visit was calibrated before anything was measured: its samples are corrected
    /// with the calibration that holds now.
    Recalibrated {
        /// The visit.
        visit: VisitId,
        /// Where the sensor is worn.
        role: SensorRole,
    },
    /// The sensors of the two shanks were on each other's leg from the visit's start on: all that
    /// came from either is the other role's.
    ExchangeShanks {
        /// The visit.
        visit: VisitId,
    },
    /// The table that a visit is measured on: its newest levelling counts.
    UseTable {
        /// The visit.
        visit: VisitId,
        /// The table's name; `None` for one that was never levelled.
        table: Option<String>,
    },
    /// A table's tilt was measured.
    TableLevel(NewTableLevel),
    /// A sensor is worn somewhere from now on.
    Assign(Assignment),
    /// A sensor is worn nowhere any more.
    ForgetSensor {
        /// Its address.
        address: String,
    },
    /// A sensor is called something here; `None`: by the name it gives itself.
    NameSensor {
        /// Its address.
        address: String,
        /// Its name.
        name: Option<String>,
    },
    /// What a sensor says of itself.
    Identity(SensorIdentity),
}

/// Does it, inside the caller's transaction. Returns the key of the row that came or changed.
pub(super) fn apply(db: &Connection, write: &Write) -> rusqlite::Result<i64> {
    match write {
        Write::BeginVisit(new) => begin_visit(db, new),
        Write::EndVisit { visit, state, ended_s } => {
            recover::end_visit(db, *visit, *state, *ended_s)?;
            Ok(visit.0)
        }
        Write::ClockCorrected { visit, by_s } => {
            let sql = "UPDATE visit SET clock_corrected_s = ifnull(clock_corrected_s, 0) + ?2
                       WHERE id = ?1";
            one(db.prepare_cached(sql)?.execute(params![visit.0, by_s])?, visit.0)
        }
        Write::BeginSpan(new) => insert(
            db,
            "INSERT INTO phase_span (visit, trial_type, side, start_s) VALUES (?1, ?2, ?3, ?4)",
            params![new.visit.0, Word(new.trial_type), new.side.map(Word), new.start_s],
        ),
        Write::EndSpan { span, end_s } => end_span(db, *span, *end_s),
        Write::StrapSensor(new) => strap::strap_sensor(db, new),
        Write::Alignment(new) => strap::alignment(db, new),
        Write::Repetition(new) => repetition(db, new),
        Write::RepetitionValue { repetition, value } => repetition_value(db, *repetition, value),
        Write::StrikeOut { repetition, reason } => {
            let sql = "UPDATE repetition SET struck_out = ?2 WHERE id = ?1";
            one(db.prepare_cached(sql)?.execute(params![repetition.0, reason])?, repetition.0)
        }
        Write::Verdict(new) => verdict(db, new),
        Write::Chunk(new) => chunk(db, new),
        Write::GyroBias(new) => gyro_bias(db, new),
        Write::Gap(new) => insert(
            db,
            "INSERT INTO gap (visit, role, from_s, to_s, lost, cause)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![new.visit.0, Word(new.role), new.from_s, new.to_s, new.lost, Word(new.cause)],
        ),
        Write::Mark(new) => insert(
            db,
            "INSERT INTO mark (visit, at_s, kind, note) VALUES (?1, ?2, ?3, ?4)",
            params![new.visit.0, new.at_s, new.kind, new.note],
        ),
        Write::Look(new) => looks::add(db, new),
        Write::Answer(new) => answers::write_answer(db, new),
        Write::Audit(new) => amend::audit(db, new),
        Write::Amend(new) => amend::amend(db, new),
        Write::Calibration(new) => write_calibration(db, new),
        Write::Recalibrated { visit, role } => {
            let sql = "UPDATE visit_sensor
                       SET calibration = (SELECT max(id) FROM calibration
                                          WHERE calibration.sensor = visit_sensor.sensor)
                       WHERE visit = ?1 AND role = ?2";
            one(db.prepare_cached(sql)?.execute(params![visit.0, Word(*role)])?, visit.0)
        }
        Write::ExchangeShanks { visit } => exchange::exchange_shanks(db, *visit),
        Write::UseTable { visit, table } => use_table(db, *visit, table.as_deref()),
        Write::TableLevel(new) => write_level(db, new),
        Write::Assign(new) => assignments::assign(db, new),
        Write::ForgetSensor { address } => assignments::forget(db, address),
        Write::NameSensor { address, name } => assignments::rename(db, address, name.as_deref()),
        Write::Identity(new) => assignments::identity(db, new),
    }
}

fn begin_visit(db: &Connection, new: &NewVisit) -> rusqlite::Result<i64> {
    let utc = new.started.utc.to_string();
    db.prepare_cached("INSERT OR IGNORE INTO person (code, created_at) VALUES (?1, ?2)")?
        .execute(params![new.person.as_str(), utc])?;
    insert(
        db,
        "INSERT INTO visit (person, test, source, state, started_at, started_offset_s,
                            started_zone, started_s, table_tilt_deg, primary_side,
                            primary_direction, end_criterion, notes, program_version)
         VALUES ((SELECT id FROM person WHERE code = ?1),
                 ?2, ?3, 'open', ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
        params![
            new.person.as_str(),
            Word(new.test),
            Word(new.source),
            utc,
            new.started.offset_s,
            new.started.zone,
            new.started_s,
            new.table_tilt_deg,
            new.primary.map(|(side, _)| Word(side)),
            new.primary.map(|(_, direction)| Word(direction)),
            new.end_criterion.map(Word),
            new.notes,
            new.program_version,
        ],
    )
}

fn end_span(db: &Connection, span: SpanId, end_s: f64) -> rusqlite::Result<i64> {
    let visit = db
        .prepare_cached("UPDATE phase_span SET end_s = ?2 WHERE id = ?1 RETURNING visit")?
        .query_row(params![span.0, end_s], |row| row.get(0).map(VisitId))?;
    merge::merge_chunks(db, visit)?;
    Ok(span.0)
}

fn repetition(db: &Connection, new: &NewRepetition) -> rusqlite::Result<i64> {
    let id = insert(
        db,
        "INSERT INTO repetition (visit, side, phase, direction, number, rater, end_criterion,
                                 strap_epoch, start_s, end_range_at_s, hold_s)
         VALUES (?1, ?2, ?3, ?4,
                 1 + (SELECT ifnull(max(number), 0) FROM repetition
                      WHERE visit = ?1 AND side = ?2 AND phase = ?3 AND direction = ?4),
                 ?5, ?6, ?7, ?8, ?9, ?10)",
        params![
            new.visit.0,
            Word(new.side),
            Word(new.phase),
            Word(new.direction),
            new.rater.as_ref().map(|code| rater(db, code)).transpose()?,
            new.end_criterion.map(Word),
            new.strap_epoch,
            new.value.start_s,
            new.value.end_range_at_s,
            new.value.hold_s,
        ],
    )?;
    repetition_value(db, RepetitionId(id), &new.value)
}

fn rater(db: &Connection, code: &Code) -> rusqlite::Result<i64> {
    let known = db
        .prepare_cached("SELECT id FROM rater WHERE code = ?1")?
        .query_row([code.as_str()], |row| row.get(0))
        .optional()?;
    match known {
        Some(id) => Ok(id),
        None => insert(db, "INSERT INTO rater (code) VALUES (?1)", params![code.as_str()]),
    }
}

fn repetition_value(
    db: &Connection,
    repetition: RepetitionId,
    value: &RepetitionValue,
) -> rusqlite::Result<i64> {
    db.prepare_cached(
        "INSERT OR REPLACE INTO repetition_value
             (repetition, kind, algorithm_version, end_range_deg, uncertainty_deg, start_s,
              end_range_at_s, hold_s, knee_flexion_deg, pelvis_roll_deg, flags, computed_at,
              barrier_start_deg, barrier_end_deg, barrier_start_s, barrier_end_s)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
    )?
    .execute(params![
        repetition.0,
        Word(value.kind),
        value.algorithm_version,
        value.end_range_deg,
        value.uncertainty_deg,
        value.start_s,
        value.end_range_at_s,
        value.hold_s,
        value.knee_flexion_deg,
        value.pelvis_roll_deg,
        value.flags.join(","),
        value.computed_at.to_string(),
        value.barriers.map(|barriers| barriers.start_deg),
        value.barriers.map(|barriers| barriers.end_deg),
        value.barriers.map(|barriers| barriers.start_s),
        value.barriers.map(|barriers| barriers.end_s),
    ])?;
    Ok(repetition.0)
}

fn gyro_bias(db: &Connection, new: &GyroBias) -> rusqlite::Result<i64> {
    let ([x, y, z], [x_sd, y_sd, z_sd]) = (new.state.bias_rad_s, new.state.sd_rad_s);
    insert(
        db,
        "INSERT INTO gyro_bias (visit, role, strap_epoch, at_s, x_rad_s, y_rad_s, z_rad_s,
                                x_sd_rad_s, y_sd_rad_s, z_sd_rad_s, learnt_at_s, algorithm_version)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
        params![
            new.visit.0,
            Word(new.role),
            new.strap_epoch,
            new.at_s,
            x,
            y,
            z,
            x_sd,
            y_sd,
            z_sd,
            new.state.learnt_at_s,
            new.algorithm_version,
        ],
    )
}

pub(super) fn verdict(db: &Connection, new: &Verdict) -> rusqlite::Result<i64> {
    insert(
        db,
        "INSERT OR REPLACE INTO verdict
             (visit, side, direction, baseline_count, retest_count, baseline_mean_deg,
              retest_mean_deg, change_deg, ci95_low_deg, ci95_high_deg, mdc95_deg, mdc95_source,
              finding, statement, algorithm_version, computed_at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
        params![
            new.visit.0,
            Word(new.side),
            new.direction.map(Word),
            new.baseline_count,
            new.retest_count,
            new.baseline_mean_deg,
            new.retest_mean_deg,
            new.change_deg,
            new.ci95_deg.map(|[low, _]| low),
            new.ci95_deg.map(|[_, high]| high),
            new.mdc95_deg,
            new.mdc95_source,
            Word(new.finding),
            new.statement,
            new.algorithm_version,
            new.computed_at.to_string(),
        ],
    )
}

fn chunk(db: &Connection, new: &RawChunk) -> rusqlite::Result<i64> {
    let refused = |error| rusqlite::Error::ToSqlConversionFailure(Box::new(error));
    let bytes = encode(&new.readings).map_err(refused)?;
    let span_s = new.readings.span_s();
    let scale = new.readings.scale();
    insert(
        db,
        "INSERT INTO raw_chunk (visit, role, strap_epoch, counter_epoch, codec,
                                accel_m_s2_per_count, gyro_rad_s_per_count, start_s, end_s,
                                count, bytes)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        params![
            new.visit.0,
            Word(new.role),
            new.strap_epoch,
            new.counter_epoch,
            new.readings.codec(),
            scale.map(|scale| scale.accel_m_s2_per_count),
            scale.map(|scale| scale.gyro_rad_s_per_count),
            span_s.map(|(start_s, _)| start_s),
            span_s.map(|(_, end_s)| end_s),
            u32::try_from(new.readings.len()).unwrap_or(u32::MAX),
            bytes,
        ],
    )
}

pub(super) fn insert(
    db: &Connection,
    sql: &str,
    values: impl rusqlite::Params,
) -> rusqlite::Result<i64> {
    db.prepare_cached(sql)?.insert(values)
}

/// Refuses a change that met no row.
pub(super) const fn one(changed: usize, id: i64) -> rusqlite::Result<i64> {
    match changed {
        0 => Err(rusqlite::Error::QueryReturnedNoRows),
        _ => Ok(id),
    }
}
