//! What a viewer is shown: the shapes of the live stream.
//!
//! One [`LiveState`] is the whole present state; a viewer that missed some loses nothing by drawing
//! only the newest. Angles are degrees, internal rotation positive.

mod calibration;
mod course;
mod more;

use endarc_protocol::words::{Direction, Phase, SensorRole, Side};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::levelled::LevelledTable;

pub use calibration::{CalibrationState, CalibrationTask, LiveCalibration, LiveRest};
pub use course::{LiveCourse, LiveStep, LiveTarget, StepState};
pub use more::{Advice, LiveMore};

/// Everything a viewer needs to draw the present moment.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema, Default)]
pub struct LiveState {
    /// Counts up by one with each state; a viewer draws only the newest.
    pub sequence: u64,
    /// Visit time, s since the source started.
    pub time_s: f64,
    /// The visit being recorded, if one is.
    pub visit: Option<LiveVisit>,
    /// Phase of the visit; null while preparing or between phases.
    #[schema(value_type = Option<String>)]
    pub phase: Option<Phase>,
    /// What the therapist is asked to do now, one line.
    pub prompt: String,
    /// The two legs, as the therapist stands behind the feet: left, right.
    pub legs: Vec<LiveLeg>,
    /// Each sensor of the visit.
    pub sensors: Vec<LiveSensor>,
    /// Whether what is recorded reaches the disk.
    pub saving: bool,
    /// What is wrong with Bluetooth and what to do; null where nothing is, or it is not used.
    pub radio: Option<String>,
    /// End ranges of this visit that are synced to disk, oldest first.
    pub repetitions: Vec<LiveRepetition>,
    /// Before against after, per side: internal, external, total, as far as it can be said now.
    pub changes: Vec<LiveChange>,
    /// While a retest runs: for each leg and direction, whether more repetitions would settle the
    /// comparison; words and counts, no angle. Empty otherwise.
    pub more: Vec<LiveMore>,
    /// Why the two shank sensors seem to be exchanged, while they may still change places; null where
    /// they do not seem so.
    pub exchange: Option<String>,
    /// The table the visit is measured on, as it was levelled; null where that is not known.
    pub table: Option<LevelledTable>,
    /// The calibration of a sensor or levelling of a table that is being led through; null when none
    /// is.
    pub calibration: Option<LiveCalibration>,
    /// Where the guided visit stands; null for one that is not guided.
    pub course: Option<LiveCourse>,
    /// True when the source has ended and the visit is closed.
    pub ended: bool,
    /// When the newest sample arrived that is new in it, s on the daemon's clock; not shown.
    #[serde(skip)]
    pub newest_at_s: Option<f64>,
}

impl LiveState {
    /// The state before anything has come: two legs of which nothing is known.
    #[must_use]
    pub fn waiting() -> Self {
        let leg = |&side: &Side| LiveLeg {
            side,
            state: LegState::NoData,
            angle_deg: None,
            uncertainty_deg: None,
            knee_flexion_deg: None,
            pelvis_roll_deg: None,
            raised: false,
            data_age_s: None,
            notice: String::new(),
        };
        Self { legs: Side::ALL.iter().map(leg).collect(), ..Self::default() }
    }
}

/// The visit being recorded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LiveVisit {
    /// The visit's id; a string, because a script cannot carry every 64-bit number.
    pub id: String,
    /// The person's code.
    pub person: String,
    /// The test, e.g. `prone-hip-rotation`.
    pub test: String,
}

/// One leg at this moment.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveLeg {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// What the tool knows about this leg.
    pub state: LegState,
    /// Hip rotation, degrees, internal positive; null while it cannot be said.
    pub angle_deg: Option<f64>,
    /// One standard uncertainty of the angle, degrees.
    pub uncertainty_deg: Option<f64>,
    /// Knee flexion, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll, degrees, positive the way the shank moves; null without a pelvis sensor.
    pub pelvis_roll_deg: Option<f64>,
    /// Whether this leg's shank is raised, i.e. this is the leg in the hands.
    pub raised: bool,
    /// Seconds since the last sample of the shank sensor; null before the first.
    pub data_age_s: Option<f64>,
    /// What is wrong right now, in plain words; empty when nothing is.
    pub notice: String,
}

/// What the tool knows about a leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LegState {
    /// No sensor for this leg, or no data yet.
    NoData,
    /// Data comes, the sensor's place on the shank is not known yet.
    NotAligned,
    /// Angles can be said.
    Ready,
}

/// One sensor at this moment.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveSensor {
    /// Where it is worn.
    #[schema(value_type = String)]
    pub role: SensorRole,
    /// Samples received.
    pub received: u64,
    /// Samples lost on the way.
    pub lost: u64,
    /// Samples that came once more; used once.
    pub duplicate: u64,
    /// Samples that came after a later one, but soon enough to be put in order.
    pub reordered: u64,
    /// Samples that came too late to be used, or were left over from before the link was lost.
    pub late: u64,
    /// Notifications that could not be read.
    pub malformed: u64,
    /// Samples with an axis at the end of its range.
    pub saturated: u64,
    /// Seconds since the last sample; null before the first.
    pub data_age_s: Option<f64>,
    /// When it was calibrated, UTC (RFC 3339); null where it never was.
    pub calibrated_at: Option<String>,
    /// How its link is doing; null for a source without links.
    pub link: Option<LinkWord>,
    /// Battery, percent; null where it is not known.
    pub battery_percent: Option<u8>,
    /// Whether it is low: by two readings in a row.
    pub battery_low: bool,
}

/// How a sensor's link is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LinkWord {
    /// The sensor is being looked for.
    Searching,
    /// It is being connected.
    Connecting,
    /// Samples come.
    Streaming,
    /// It is connected, but says nothing.
    Silent,
    /// It is lost, and being taken up again.
    Lost,
    /// It cannot be had.
    Refused,
}

impl std::fmt::Display for LinkWord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            Self::Searching => "searching",
            Self::Connecting => "connecting",
            Self::Streaming => "streaming",
            Self::Silent => "silent",
            Self::Lost => "lost",
            Self::Refused => "refused",
        })
    }
}

/// One repetition that is kept (synced to disk).
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveRepetition {
    /// The repetition's id in the store.
    pub id: String,
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which phase.
    #[schema(value_type = String)]
    pub phase: Phase,
    /// Which way.
    #[schema(value_type = String)]
    pub direction: Direction,
    /// End range along its direction, degrees.
    pub end_range_deg: f64,
    /// One standard uncertainty, degrees.
    pub uncertainty_deg: f64,
    /// When the end range was reached, s of visit time.
    pub end_range_at_s: f64,
    /// What to know about this value, from the list in the documentation of `analyse`.
    pub flags: Vec<String>,
}

/// Before against after for one side, in one direction or over both.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveChange {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which way.
    pub direction: Compared,
    /// Mean of the baseline end ranges, degrees; null without any.
    pub baseline_mean_deg: Option<f64>,
    /// Mean of the retest end ranges, degrees; null without any.
    pub retest_mean_deg: Option<f64>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// A change smaller than this cannot be told from error, degrees.
    pub limit_deg: f64,
    /// One plain sentence.
    pub statement: String,
}

/// What a comparison is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Compared {
    /// Internal rotation.
    Internal,
    /// External rotation.
    External,
    /// Knee flexion.
    Flexion,
    /// Both together, which a tilted table does not shift.
    Total,
}

impl From<Option<Direction>> for Compared {
    /// No direction is both together.
    fn from(direction: Option<Direction>) -> Self {
        match direction {
            Some(Direction::Internal) => Self::Internal,
            Some(Direction::External) => Self::External,
            Some(Direction::Flexion) => Self::Flexion,
            None => Self::Total,
        }
    }
}
