//! The movement of each repetition over time: the angle as the final values found it, and the raw
//! readings it comes from.

use endarc_analysis::recording;
use endarc_protocol::words::SensorRole;
use serde::Serialize;
use utoipa::ToSchema;

use super::{Desk, DeskError, no_visit};
use crate::finalise;
use crate::store::records::RepetitionRecord;
use crate::store::{Reader, RepetitionId, VisitId};

/// How much is shown before a movement and after its end, s.
const AROUND_S: f64 = 2.0;

/// Time between two points that are shown, s: a fiftieth.
const STEP_S: f64 = 0.02;

/// The angle over the time of one repetition.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Curve {
    /// The repetition's id.
    pub repetition: String,
    /// Visit time of each point, s.
    pub time_s: Vec<f64>,
    /// The angle that the test measures, internal (or flexion) positive, degrees.
    pub angle_deg: Vec<f64>,
}

/// The readings of a leg's shank sensor over the time of one repetition, as they were recorded: not
/// corrected by any calibration.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RawCurve {
    /// The repetition's id.
    pub repetition: String,
    /// Visit time of each sample, s.
    pub time_s: Vec<f64>,
    /// Specific force along the sensor's axes, m/s².
    pub accel_m_s2: [Vec<f64>; 3],
    /// Angular rate about the sensor's axes, rad/s.
    pub gyro_rad_s: [Vec<f64>; 3],
}

impl Desk {
    /// The movement of each repetition of a visit; those of a leg whose recording cannot be analysed
    /// are left out. Blocks: it analyses the whole visit.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn curves(&self, visit: VisitId) -> Result<Vec<Curve>, DeskError> {
        let (record, legs) = finalise::each_leg(&self.dir, visit, |leg| {
            let points = recording::curve(leg).unwrap_or_default();
            points.iter().map(|one| (one.time_s, one.angle_deg)).collect::<Vec<_>>()
        })?;
        let curve = |one: &RepetitionRecord| {
            let (_, points) = legs.iter().find(|(side, _)| *side == one.side)?;
            let (time_s, angle_deg) = thinned(points, shown(one)).into_iter().unzip();
            Some(Curve { repetition: one.id.to_string(), time_s, angle_deg })
        };
        Ok(record.repetitions.iter().filter_map(curve).collect())
    }

    /// The raw readings of one repetition. Blocks.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn raw(&self, visit: VisitId, repetition: RepetitionId) -> Result<RawCurve, DeskError> {
        let reader = Reader::open(&self.dir)?;
        let record = reader.visit(visit)?.ok_or_else(|| no_visit(visit))?;
        let one = record.repetitions.iter().find(|one| one.id == repetition).ok_or_else(|| {
            DeskError::Missing(format!("visit {visit} has no repetition {repetition}"))
        })?;
        let (from_s, to_s) = shown(one);
        let mut raw = RawCurve {
            repetition: one.id.to_string(),
            time_s: Vec::new(),
            accel_m_s2: Default::default(),
            gyro_rad_s: Default::default(),
        };
        for chunk in reader.raw_samples(visit, SensorRole::shank(one.side)) {
            for sample in chunk?.iter().filter(|one| (from_s..=to_s).contains(&one.time_s)) {
                raw.time_s.push(sample.time_s);
                for (axis, value) in raw.accel_m_s2.iter_mut().zip(sample.accel_m_s2) {
                    axis.push(value);
                }
                for (axis, value) in raw.gyro_rad_s.iter_mut().zip(sample.gyro_rad_s) {
                    axis.push(value);
                }
            }
        }
        Ok(raw)
    }
}

/// The time that is shown of a repetition, s.
fn shown(record: &RepetitionRecord) -> (f64, f64) {
    let (start_s, at_s, hold_s) =
        record.value().map_or((record.start_s, record.end_range_at_s, record.hold_s), |value| {
            (value.start_s, value.end_range_at_s, value.hold_s)
        });
    (start_s - AROUND_S, at_s + hold_s + AROUND_S)
}

/// The points of a stretch, no nearer to one another than [`STEP_S`].
fn thinned(points: &[(f64, f64)], (from_s, to_s): (f64, f64)) -> Vec<(f64, f64)> {
    let from = points.partition_point(|(time_s, _)| *time_s < from_s);
    let mut last_s = f64::NEG_INFINITY;
    let within = points.iter().skip(from).take_while(|(time_s, _)| *time_s <= to_s);
    within
        .filter(|(time_s, _)| {
            let far = time_s - last_s >= STEP_S - 1e-6;
            if far {
                last_s = *time_s;
            }
            far
        })
        .copied()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_is_thinned_to_a_fiftieth_of_a_second_and_cut_at_its_ends() {
        let points: Vec<(f64, f64)> = (0..1000).map(|i| (f64::from(i) * 0.005, 1.0)).collect();
        let thin = thinned(&points, (1.0, 2.0));
        assert_eq!(thin.len(), 51);
        assert!((thin[0].0 - 1.0).abs() < 1e-9 && (thin[50].0 - 2.0).abs() < 1e-6);
    }
}
