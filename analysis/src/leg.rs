//! What is known of one leg once it is aligned: from a vertical to angles with their uncertainty.

use endarc_protocol::words::{Phase, Side, TestKind};
use nalgebra::Vector3;

use crate::alignment::Alignment;
use crate::calibration::AccelerometerOffset;
use crate::repetition::Point;
use crate::repetition::detector::Excursion;
use crate::repetition::plateau::{self, Plateau};
use crate::result::{AlignmentKind, AlignmentReport, Flag, Repetition};

/// What is measured on this leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LimbConfig {
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
    /// Whether a pelvis sensor is worn.
    pub pelvis: bool,
}

/// One aligned leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
    /// The shank's axes.
    pub alignment: Alignment,
    /// What is known of the accelerometer's offset; already taken out of the verticals given here.
    pub offset: AccelerometerOffset,
    /// The vertical at neutral (unit, sensor frame).
    pub neutral_up: Vector3<f64>,
    /// Whether a pelvis sensor is worn.
    pub pelvis: bool,
}

impl Leg {
    /// The leg at one moment, from the vertical (unit, sensor frame) and the pelvis roll (rad).
    #[must_use]
    pub fn point(&self, time_s: f64, up: &Vector3<f64>, roll_rad: Option<f64>) -> Point {
        let shank = self.alignment.axes.hip_rotation(up, self.side, self.test);
        Point {
            time_s,
            angle_deg: (shank - roll_rad.unwrap_or(0.0)).to_degrees(),
            knee_deg: self.alignment.axes.knee_flexion(up).to_degrees(),
            roll_deg: roll_rad.map(f64::to_degrees),
            saturated: false,
        }
    }

    /// Standard uncertainty (deg) of a hip angle at this vertical from what does not average out:
    /// accelerometer offset and scale, alignment, pelvis. Propagated as in the GUM (JCGM 100:2008, 5.1).
    #[must_use]
    pub fn systematic_sd_deg(&self, up: &Vector3<f64>) -> f64 {
        let knee = self.alignment.axes.knee.into_inner();
        // The way the vertical goes when only the hip turns.
        let along = knee - up * knee.dot(up);
        let Some(along) = along.try_normalize(1e-6) else { return 90.0 };
        let sine = knee.dot(up).clamp(-1.0, 1.0);
        let scale = SCALE_MISMATCH * (sine * (1.0 - sine * sine).sqrt()).abs();
        let pelvis = if self.pelvis { PELVIS_SD_RAD } else { 0.0 };
        [self.offset.up_sd_rad(&along), self.alignment.uncertainty_rad, scale, pelvis]
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt()
            .to_degrees()
    }

    /// The repetition that an excursion is, with its uncertainty; `None` if it has no points.
    /// `vertical_at` gives the vertical (unit, sensor frame) and its momentary standard uncertainty
    /// (rad) at a time.
    #[must_use]
    pub fn repetition(
        &self,
        excursion: &Excursion,
        phase: Phase,
        vertical_at: impl Fn(f64) -> (Vector3<f64>, f64),
    ) -> Option<Repetition> {
        let plateau = plateau::measure(excursion)?;
        let (up, momentary_sd_rad) = vertical_at(plateau.at_s);
        let momentary =
            if plateau.hold_s > 0.0 { 0.0 } else { TOUCHED_SHARE * momentary_sd_rad.to_degrees() };
        let systematic = self.systematic_sd_deg(&up);
        Some(Repetition {
            side: self.side,
            phase,
            direction: excursion.direction,
            end_range_deg: plateau.end_range_deg,
            uncertainty_deg: systematic.hypot(plateau.sd_deg).hypot(momentary),
            start_s: excursion.start_s,
            end_range_at_s: plateau.at_s,
            hold_s: plateau.hold_s,
            knee_flexion_deg: Some(plateau.knee_deg),
            pelvis_roll_deg: plateau.roll_deg,
            flags: self.flags(excursion, &plateau),
        })
    }

    fn flags(&self, excursion: &Excursion, plateau: &Plateau) -> Vec<Flag> {
        let spacing = |pair: &[Point]| pair[1].time_s - pair[0].time_s;
        let checks = [
            (Flag::Touched, plateau.hold_s <= 0.0),
            (Flag::KneeAwayFrom90, (plateau.knee_deg - 90.0).abs() > KNEE_TOLERANCE_DEG),
            (Flag::Fast, plateau.fastest_deg_s > FAST_DEG_S),
            (Flag::PelvisMoved, plateau.roll_deg.is_some_and(|roll| roll.abs() > PELVIS_LIMIT_DEG)),
            (Flag::PelvisNotSeen, plateau.roll_deg.is_none()),
            (Flag::Gap, excursion.points.windows(2).any(|pair| spacing(pair) > GAP_S)),
            (Flag::Saturated, excursion.points.iter().any(|point| point.saturated)),
            (Flag::QuickAlignment, self.alignment.kind == AlignmentKind::Quick),
        ];
        checks.into_iter().filter_map(|(flag, holds)| holds.then_some(flag)).collect()
    }

    /// The alignment as it leaves the crate.
    #[must_use]
    pub fn alignment_report(&self) -> AlignmentReport {
        let axes = &self.alignment.axes;
        AlignmentReport {
            kind: self.alignment.kind,
            knee_axis: axes.knee.into_inner().into(),
            long_axis: axes.long(self.test).into(),
            residual_deg: self.alignment.residual_rad.to_degrees(),
            uncertainty_deg: self.alignment.uncertainty_rad.to_degrees(),
            neutral_deg: axes.hip_rotation(&self.neutral_up, self.side, self.test).to_degrees(),
        }
    }
}

/// Whether the shank is raised enough for a hip rotation to be meant.
#[must_use]
pub fn raised(knee_deg: f64) -> bool {
    (RAISED_DEG..180.0 - RAISED_DEG).contains(&knee_deg)
}

/// Whether the leg lies flat.
#[must_use]
pub fn laid_down(knee_deg: f64) -> bool {
    knee_deg < LAID_DOWN_DEG
}

// Between the two, a leg keeps the state it had.
const RAISED_DEG: f64 = 45.0;
const LAID_DOWN_DEG: f64 = 25.0;
// Difference of scale between two axes of a cheap accelerometer (common practice: some 0.3 %).
const SCALE_MISMATCH: f64 = 0.003;
const PELVIS_SD_RAD: f64 = 0.1_f64.to_radians();
// What of the momentary inclination uncertainty a touched end carries (its floor is systematic).
const TOUCHED_SHARE: f64 = 0.5;
// The limits behind the flags; see `Flag`.
const KNEE_TOLERANCE_DEG: f64 = 20.0;
const FAST_DEG_S: f64 = 60.0;
const PELVIS_LIMIT_DEG: f64 = 5.0;
const GAP_S: f64 = 0.1;
