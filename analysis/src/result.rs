//! What leaves the crate: plain values in degrees and seconds.

use std::fmt;

use endarc_protocol::words::{Direction, Phase, Side};

pub use crate::repetition::barrier::Barriers;
pub use crate::verdict::More;

/// One repetition: a movement out to an end range and back, or through to the other end.
#[derive(Debug, Clone, PartialEq)]
pub struct Repetition {
    /// The leg.
    pub side: Side,
    /// The phase it was made in.
    pub phase: Phase,
    /// The way the hip was turned.
    pub direction: Direction,
    /// End range along its direction, degrees: positive, or negative where neutral was not reached.
    pub end_range_deg: f64,
    /// One standard uncertainty of the end range, degrees; always above zero.
    pub uncertainty_deg: f64,
    /// When the movement began, s.
    pub start_s: f64,
    /// A moment inside the plateau whose mean is the end range, s.
    pub end_range_at_s: f64,
    /// Time spent at the end range, s; 0 where it was only touched.
    pub hold_s: f64,
    /// Knee flexion at the end range, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll at the end range, degrees, positive the way the shank moved; `None` without a
    /// pelvis sensor.
    pub pelvis_roll_deg: Option<f64>,
    /// Where a contraction on the way there began and ended; `None` without one.
    pub barriers: Option<Barriers>,
    /// What a reader should know about this value.
    pub flags: Vec<Flag>,
}

/// What a reader should know about a repetition. A closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flag {
    /// No hold: the end was only touched.
    Touched,
    /// The knee was more than 20° away from 90° at the end.
    KneeAwayFrom90,
    /// The limb moved faster than 60°/s on the way to the end.
    Fast,
    /// The pelvis rolled more than 5° at the end.
    PelvisMoved,
    /// No pelvis sensor, or a silent one, or one that could not show it: pelvis roll is not seen.
    PelvisNotSeen,
    /// Knee bend: the pelvis did not clearly tilt; the value is the largest flexion.
    PelvisDidNotTilt,
    /// The strap moved by more than 3° at some time before this movement, or around it.
    StrapMoved,
    /// Samples are missing within the movement.
    Gap,
    /// A reading stood at the end of the sensor's range within the movement.
    Saturated,
    /// Aligned without knee bends.
    QuickAlignment,
}

impl Flag {
    /// Every flag.
    pub const ALL: [Self; 10] = [
        Self::Touched,
        Self::KneeAwayFrom90,
        Self::Fast,
        Self::PelvisMoved,
        Self::PelvisNotSeen,
        Self::PelvisDidNotTilt,
        Self::StrapMoved,
        Self::Gap,
        Self::Saturated,
        Self::QuickAlignment,
    ];

    /// The one spelling of this flag.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Touched => "touched",
            Self::KneeAwayFrom90 => "knee-away-from-90",
            Self::Fast => "fast",
            Self::PelvisMoved => "pelvis-moved",
            Self::PelvisNotSeen => "pelvis-not-seen",
            Self::PelvisDidNotTilt => "pelvis-did-not-tilt",
            Self::StrapMoved => "strap-moved",
            Self::Gap => "gap",
            Self::Saturated => "saturated",
            Self::QuickAlignment => "quick-alignment",
        }
    }
}

impl fmt::Display for Flag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// How the shank's axes lie in the sensor's frame, and how far to trust it.
#[derive(Debug, Clone, PartialEq)]
pub struct AlignmentReport {
    /// How it was found.
    pub kind: AlignmentKind,
    /// The knee's flexion axis in the sensor's frame, pointing to the person's left (unit).
    pub knee_axis: [f64; 3],
    /// The shank's long axis from ankle to knee in the sensor's frame (unit).
    pub long_axis: [f64; 3],
    /// How far the knee bends were from turning about one axis, degrees.
    pub residual_deg: f64,
    /// One standard uncertainty of the knee axis, degrees.
    pub uncertainty_deg: f64,
    /// Hip rotation at the neutral hold as gravity shows it, degrees; a check, never a zero.
    pub neutral_deg: f64,
}

/// How an alignment was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AlignmentKind {
    /// Neutral hold and knee bends.
    KneeBends,
    /// Without knee bends: by the neutral hold and, once there are any, the hip rotations themselves.
    Quick,
}

impl AlignmentKind {
    /// The one spelling of this kind.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::KneeBends => "knee-bends",
            Self::Quick => "quick",
        }
    }
}

/// What was done in one treatment span: dose, not repetitions.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// Start, s.
    pub start_s: f64,
    /// Length, s.
    pub duration_s: f64,
    /// Movements to and fro of more than 2°.
    pub oscillations: usize,
    /// Smallest (most external) angle, degrees, internal positive; `None` if the leg was not raised.
    pub min_deg: Option<f64>,
    /// Largest (most internal) angle, degrees, internal positive; `None` if the leg was not raised.
    pub max_deg: Option<f64>,
}

/// Before against after for one side and direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The leg.
    pub side: Side,
    /// The direction; `None` for total rotation (internal + external), which the sideways tilt of
    /// the table cannot shift.
    pub direction: Option<Direction>,
    /// Whether this is the measure that was named before treatment: the error rate holds for it, all
    /// others describe.
    pub primary: bool,
    /// Baseline repetitions it rests on.
    pub baseline_count: usize,
    /// Retest repetitions it rests on.
    pub retest_count: usize,
    /// Mean baseline end range, degrees.
    pub baseline_mean_deg: Option<f64>,
    /// Mean retest end range, degrees.
    pub retest_mean_deg: Option<f64>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// 95 % interval of the change from the repetitions, from what they cannot show (the end decided
    /// anew, the strap, another day) and from the instrument, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// 95 % interval from the scatter of the repetitions alone, degrees: of the change as this hand made
    /// it.
    pub ci95_repetitions_deg: Option<[f64; 2]>,
    /// A single person's change must exceed this to be told from error, degrees.
    pub mdc95_deg: f64,
    /// Beyond this a change is possible, not shown, degrees.
    pub mdc90_deg: f64,
    /// Where that limit comes from.
    pub mdc95_source: String,
    /// What can be said.
    pub finding: Finding,
    /// The same in plain words.
    pub statement: String,
    /// By how much the first baseline repetition fell short of the others, degrees, if that was more
    /// than scatter: the hip was still loosening.
    pub loosened_deg: Option<f64>,
    /// Whether more repetitions of this direction would settle it; `None` for the total, and where
    /// no claim may be made at all.
    pub more: Option<More>,
}

/// What can be said of a change. A closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Too few repetitions on one side of the comparison.
    NotEnough,
    /// The two measurements cannot be held against each other; the statement says why.
    NoClaim,
    /// The change does not exceed the limit.
    WithinError,
    /// The change exceeds the limit.
    ExceedsError,
}
