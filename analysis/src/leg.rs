//! What is known of one leg once it is aligned: from a vertical to angles with their uncertainty.

use endarc_protocol::words::{Phase, Side, TestKind};
use nalgebra::{UnitQuaternion, Vector3};

use crate::alignment::Alignment;
use crate::calibration::{AccelerometerOffset, OffsetPriors};
use crate::heading::Turned;
use crate::hip::{self, Posture};
use crate::knee_bend::{self, Onset};
use crate::levelling::Levelling;
use crate::repetition::Point;
use crate::repetition::detector::Excursion;
use crate::repetition::plateau::{self, Plateau};
use crate::result::{AlignmentKind, AlignmentReport, Flag, Repetition};

/// What is measured on this leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbConfig {
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
    /// Whether a pelvis sensor is worn.
    pub pelvis: bool,
    /// How the table stands, if that was measured.
    pub levelling: Option<Levelling>,
    /// What is known of the sensors' offsets.
    pub offsets: OffsetPriors,
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
    /// How the table stands, if that was measured.
    pub levelling: Option<Levelling>,
    /// The last time at which the strap was where it had been, s, if it has moved since.
    pub strap_moved_since_s: Option<f64>,
}

/// What the shank's orientation shows at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// Visit time, s.
    pub time_s: f64,
    /// The upward vertical (unit, sensor frame), accelerometer offset taken out.
    pub up: Vector3<f64>,
    /// Momentary standard uncertainty of it, rad.
    pub momentary_sd_rad: f64,
    /// The hip rotation by heading, where gravity does not see it and a rest has given it a zero.
    pub turned: Option<Turned>,
    /// Whether a reading stood at the end of the sensor's range.
    pub saturated: bool,
}

impl Leg {
    /// The leg at one moment, from what the shank shows and the pelvis' movement (rad).
    #[must_use]
    pub fn point(&self, shown: &Shown, roll_rad: Option<f64>) -> Point {
        let axes = &self.alignment.axes;
        let knee = axes.knee_flexion(&shown.up);
        let (angle, roll_rad) = match (self.test, hip::posture(self.test)) {
            (TestKind::ProneKneeBend, _) => (knee, roll_rad),
            // A pelvis that turns about the vertical is seen by no accelerometer.
            (_, Posture::Supine9090) => (shown.turned.map_or(0.0, |turned| turned.angle_rad), None),
            _ => {
                let shank = axes.hip_rotation(&shown.up, self.side, self.test);
                let level = self
                    .levelling
                    .map_or(0.0, |level| level.level_correction_rad(self.side, self.test));
                (shank + level - roll_rad.unwrap_or(0.0), roll_rad)
            }
        };
        Point {
            time_s: shown.time_s,
            angle_deg: angle.to_degrees(),
            knee_deg: knee.to_degrees(),
            roll_deg: roll_rad.map(f64::to_degrees),
            saturated: shown.saturated,
        }
    }

    /// Heading of the shank, rad, growing with internal rotation, where the test needs it.
    #[must_use]
    pub fn heading(&self, attitude: &UnitQuaternion<f64>) -> Option<f64> {
        (hip::posture(self.test) == Posture::Supine9090)
            .then(|| self.alignment.axes.heading(attitude, self.side, self.test))
    }

    /// Standard uncertainty (deg) of the angle from what does not average out: accelerometer offset
    /// and scale, alignment, pelvis, the heading's zero. Propagated as in the GUM (JCGM 100:2008, 5.1).
    #[must_use]
    pub fn systematic_sd_deg(&self, shown: &Shown) -> f64 {
        let knee = self.alignment.axes.knee.into_inner();
        let up = &shown.up;
        if let Some(turned) = shown.turned {
            return turned.sd_rad.hypot(HEADING_SCALE * turned.angle_rad).to_degrees();
        }
        let bends = self.test == TestKind::ProneKneeBend;
        // The way the vertical goes when only the measured angle changes.
        let along = if bends { knee.cross(up) } else { knee - up * knee.dot(up) };
        let Some(along) = along.try_normalize(1e-6) else { return 90.0 };
        let sine = knee.dot(up).clamp(-1.0, 1.0);
        let scale = SCALE_MISMATCH * (sine * (1.0 - sine * sine).sqrt()).abs();
        let pelvis = if self.pelvis && !bends { PELVIS_SD_RAD } else { 0.0 };
        let axis = if bends { UPRIGHT_SD_RAD } else { self.alignment.uncertainty_rad };
        let level = match self.levelling {
            Some(level) if !bends => level.sd_rad,
            _ => 0.0,
        };
        [self.offset.up_sd_rad(&along), axis, scale, pelvis, level]
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt()
            .to_degrees()
    }

    /// The repetition that an excursion is, with its uncertainty; `None` if it has no points.
    /// `shown_at` gives what the shank showed at a time.
    #[must_use]
    pub fn repetition(
        &self,
        excursion: &Excursion,
        phase: Phase,
        shown_at: impl Fn(f64) -> Shown,
    ) -> Option<Repetition> {
        let mut plateau = plateau::measure(excursion)?;
        let onset = self.onset(excursion);
        if let Some(onset) = onset {
            (plateau.end_range_deg, plateau.sd_deg) = (onset.flexion_deg, onset.sd_deg);
            (plateau.at_s, plateau.knee_deg) = (onset.at_s, onset.flexion_deg);
        }
        let shown = shown_at(plateau.at_s);
        let touched = plateau.hold_s <= 0.0;
        let momentary =
            if touched { TOUCHED_SHARE * shown.momentary_sd_rad.to_degrees() } else { 0.0 };
        let systematic = self.systematic_sd_deg(&shown);
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
            barriers: plateau.barriers,
            flags: self.flags(excursion, &plateau, onset.is_some()),
        })
    }

    /// Where the pelvis begins to tilt, in the test that asks for it.
    fn onset(&self, excursion: &Excursion) -> Option<Onset> {
        (self.test == TestKind::ProneKneeBend)
            .then(|| knee_bend::tilt_onset(&excursion.points))
            .flatten()
    }

    fn flags(&self, excursion: &Excursion, plateau: &Plateau, tilted: bool) -> Vec<Flag> {
        let spacing = |pair: &[Point]| pair[1].time_s - pair[0].time_s;
        let bends = self.test == TestKind::ProneKneeBend;
        let moved = plateau.roll_deg.is_some_and(|roll| roll.abs() > PELVIS_LIMIT_DEG);
        let away = (plateau.knee_deg - 90.0).abs() > KNEE_TOLERANCE_DEG;
        let checks = [
            (Flag::Touched, plateau.hold_s <= 0.0),
            (Flag::KneeAwayFrom90, away && !bends),
            (Flag::Fast, plateau.fastest_deg_s > FAST_DEG_S),
            (Flag::PelvisMoved, moved && !bends),
            (Flag::PelvisNotSeen, plateau.roll_deg.is_none()),
            (Flag::PelvisDidNotTilt, bends && !tilted && plateau.roll_deg.is_some()),
            (
                Flag::StrapMoved,
                self.strap_moved_since_s.is_some_and(|since_s| plateau.at_s > since_s),
            ),
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

// Difference of scale between two axes of a cheap accelerometer (common practice: some 0.2 %).
const SCALE_MISMATCH: f64 = 0.002;
// Knee flexion counts from a shank held vertical by eye: within 5° nineteen times of twenty (common
// practice, no source).
const UPRIGHT_SD_RAD: f64 = 2.5_f64.to_radians();
// Scale error of a gyroscope (common practice: under 1 %).
const HEADING_SCALE: f64 = 0.005;
const PELVIS_SD_RAD: f64 = 0.1_f64.to_radians();
// What of the momentary inclination uncertainty a touched end carries (its floor is systematic).
const TOUCHED_SHARE: f64 = 0.3;
// The limits behind the flags; see `Flag`.
const KNEE_TOLERANCE_DEG: f64 = 20.0;
const FAST_DEG_S: f64 = 60.0;
const PELVIS_LIMIT_DEG: f64 = 5.0;
const GAP_S: f64 = 0.1;
