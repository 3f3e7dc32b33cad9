//! What is written: plain structs, one per kind of row.
//!
//! `*_s` are seconds of visit time, angles degrees. A value that is not finite is refused by the
//! database where a number must stand.

use endarc_analysis::orientation::BiasState;
use endarc_analysis::result::Barriers;
use endarc_protocol::words::{Direction, Phase, SensorRole, Side, TestKind, TrialType};
use jiff::Timestamp;

use super::chunk::{Readings, Scale};
use super::words::{AlignmentKind, EndCriterion, Finding, GapCause, LookTold, Source, ValueKind};
use super::{Code, VisitId, WallTime};

/// A visit as it begins. A person not seen before is stored with it.
#[derive(Debug, Clone, PartialEq)]
pub struct NewVisit {
    /// The person's code.
    pub person: Code,
    /// What is measured.
    pub test: TestKind,
    /// Where the samples come from.
    pub source: Source,
    /// The wall clock at the start.
    pub started: WallTime,
    /// Visit time at that moment, s.
    pub started_s: f64,
    /// Sideways tilt of the table, degrees, if it was levelled.
    pub table_tilt_deg: Option<f64>,
    /// The side and direction the treatment is meant for, if one was named beforehand.
    pub primary: Option<(Side, Direction)>,
    /// What ends a repetition, if one was chosen.
    pub end_criterion: Option<EndCriterion>,
    /// Free text.
    pub notes: Option<String>,
    /// The version of the program that records.
    pub program_version: String,
}

/// A stretch of a visit as it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewSpan {
    /// The visit.
    pub visit: VisitId,
    /// What it is.
    pub trial_type: TrialType,
    /// The leg it concerns; `None` for both.
    pub side: Option<Side>,
    /// Start, s.
    pub start_s: f64,
}

/// A sensor strapped on. It must be stored before the first chunk of its strap epoch.
#[derive(Debug, Clone, PartialEq)]
pub struct StrappedSensor {
    /// The visit.
    pub visit: VisitId,
    /// Where it is worn.
    pub role: SensorRole,
    /// Counts up each time a sensor is strapped on anew in this role, from 0.
    pub strap_epoch: u32,
    /// Since when, s.
    pub from_s: f64,
    /// The device's address, which is what tells two devices apart.
    pub address: String,
    /// The name it gives itself.
    pub name: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// The name of the profile its frames are read with.
    pub profile: String,
    /// What a count is worth; `None` for a source without counts.
    pub scale: Option<Scale>,
    /// Whether its samples are corrected with the calibration that holds for it; that one is then
    /// stored with this row.
    pub calibrated: bool,
}

/// How a sensor sat on its segment.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// The visit.
    pub visit: VisitId,
    /// Which sensor.
    pub role: SensorRole,
    /// Which strapping of it.
    pub strap_epoch: u32,
    /// When it was found, s.
    pub at_s: f64,
    /// How it was found.
    pub kind: AlignmentKind,
    /// The knee's flexion axis in the sensor's frame, pointing to the person's left (unit).
    pub knee_axis: [f64; 3],
    /// The segment's long axis in the sensor's frame, towards the knee (unit).
    pub long_axis: [f64; 3],
    /// How far the knee bends were from turning about one axis, degrees.
    pub residual_deg: f64,
    /// One standard uncertainty of the knee axis, degrees.
    pub uncertainty_deg: f64,
    /// Hip rotation at the neutral hold, degrees; a check, never a zero.
    pub neutral_deg: f64,
    /// The algorithm that found it.
    pub algorithm_version: String,
}

/// A repetition as it is captured (or found afterwards), with its first value. The store numbers
/// it within its visit, side, phase and direction, from 1.
#[derive(Debug, Clone, PartialEq)]
pub struct NewRepetition {
    /// The visit.
    pub visit: VisitId,
    /// The leg.
    pub side: Side,
    /// The phase.
    pub phase: Phase,
    /// The direction.
    pub direction: Direction,
    /// Who moved the limb, if told.
    pub rater: Option<Code>,
    /// What ended it, if chosen.
    pub end_criterion: Option<EndCriterion>,
    /// Which strapping of the shank sensor it was measured with.
    pub strap_epoch: Option<u32>,
    /// Its value; the times in it become the repetition's own.
    pub value: RepetitionValue,
}

/// What one algorithm made of a repetition.
#[derive(Debug, Clone, PartialEq)]
pub struct RepetitionValue {
    /// Live or final.
    pub kind: ValueKind,
    /// The algorithm.
    pub algorithm_version: String,
    /// End range along the direction, degrees.
    pub end_range_deg: f64,
    /// One standard uncertainty, degrees; above zero.
    pub uncertainty_deg: f64,
    /// When the movement began, s.
    pub start_s: f64,
    /// When the end range was reached, s.
    pub end_range_at_s: f64,
    /// Time spent there, s.
    pub hold_s: f64,
    /// Knee flexion there, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll there, degrees, positive the way the shank moved.
    pub pelvis_roll_deg: Option<f64>,
    /// Where a contraction on the way there began and ended; `None` without one.
    pub barriers: Option<Barriers>,
    /// What a reader should know: words without commas.
    pub flags: Vec<String>,
    /// When it was computed.
    pub computed_at: Timestamp,
}

/// Before against after, by one algorithm. A second one of the same algorithm replaces the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The visit.
    pub visit: VisitId,
    /// The leg.
    pub side: Side,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
    /// Baseline repetitions it rests on.
    pub baseline_count: u32,
    /// Retest repetitions it rests on.
    pub retest_count: u32,
    /// Mean baseline end range, degrees.
    pub baseline_mean_deg: Option<f64>,
    /// Mean retest end range, degrees.
    pub retest_mean_deg: Option<f64>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// 95 % interval of the change, degrees, low and high.
    pub ci95_deg: Option<[f64; 2]>,
    /// The change a single person must exceed to be told from error, degrees.
    pub mdc95_deg: Option<f64>,
    /// Where that limit comes from.
    pub mdc95_source: String,
    /// What can be said.
    pub finding: Finding,
    /// The same in one plain sentence.
    pub statement: String,
    /// The algorithm.
    pub algorithm_version: String,
    /// When it was computed.
    pub computed_at: Timestamp,
}

/// A look at a comparison while it could still decide whether to go on.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The visit.
    pub visit: VisitId,
    /// The leg.
    pub side: Side,
    /// The direction.
    pub direction: Direction,
    /// Retest repetitions there were.
    pub retest_count: u32,
    /// What was told.
    pub told: LookTold,
    /// When, s.
    pub at_s: f64,
}

/// About a second of raw samples of one sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct RawChunk {
    /// The visit.
    pub visit: VisitId,
    /// Which sensor.
    pub role: SensorRole,
    /// Which strapping of it.
    pub strap_epoch: u32,
    /// Counts up each time the sensor's counter starts anew, from 0.
    pub counter_epoch: u32,
    /// The readings, by time; at least one.
    pub readings: Readings,
}

/// A stretch without samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// The visit.
    pub visit: VisitId,
    /// Which sensor.
    pub role: SensorRole,
    /// Last sample before, s.
    pub from_s: f64,
    /// First sample after, s.
    pub to_s: f64,
    /// Samples lost, as far as it is known.
    pub lost: u32,
    /// Why.
    pub cause: GapCause,
}

/// What was known of a gyroscope's bias at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct GyroBias {
    /// The visit.
    pub visit: VisitId,
    /// Which sensor.
    pub role: SensorRole,
    /// Which strapping of it.
    pub strap_epoch: u32,
    /// When that was, s.
    pub at_s: f64,
    /// The bias of the samples as they are analysed: beside what a calibration takes out.
    pub state: BiasState,
    /// The algorithm that learnt it.
    pub algorithm_version: String,
}

/// A moment somebody marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The visit.
    pub visit: VisitId,
    /// When, s.
    pub at_s: f64,
    /// What made it: `pedal`, `double-tap`, …
    pub kind: String,
    /// Free text.
    pub note: Option<String>,
}

/// Who did what to the records.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditEntry {
    /// When.
    pub at: Timestamp,
    /// Who, if known: a rater's code or a command.
    pub actor: Option<String>,
    /// What was done.
    pub action: String,
    /// To what.
    pub subject: String,
    /// Anything more.
    pub detail: Option<String>,
}
