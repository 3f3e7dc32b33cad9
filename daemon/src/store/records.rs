//! What is read back: visits and all that belongs to them.

use endarc_analysis::levelling::Levelling;
use endarc_protocol::words::{Direction, Phase, SensorRole, Side, TestKind, TrialType};

use super::chunk::Scale;
use super::rows::{Alignment, Gap, GyroBias, Look, Mark, RepetitionValue, Verdict};
use super::words::{EndCriterion, Source, VisitState};
use super::{Code, RepetitionId, SpanId, TableRecord, VisitId, WallTime};
use crate::sensor_calibration::SensorCalibration;

/// A visit as a list shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitSummary {
    /// Its key; a string outside.
    pub id: VisitId,
    /// Tells visits of many sites apart: 32 hexadecimal digits.
    pub uid: String,
    /// The person's code.
    pub person: Code,
    /// What was measured.
    pub test: TestKind,
    /// Where the samples came from.
    pub source: Source,
    /// How it stands.
    pub state: VisitState,
    /// The wall clock at the start ([`WallTime::rfc3339`] is its text with the offset).
    pub started: WallTime,
    /// Visit time at the start, s.
    pub started_s: f64,
    /// Visit time at the end, s; `None` while open.
    pub ended_s: Option<f64>,
}

impl VisitSummary {
    /// How long it lasted, s; `None` while open.
    #[must_use]
    pub fn duration_s(&self) -> Option<f64> {
        Some(self.ended_s? - self.started_s)
    }

    /// The wall clock at the end, told from the start and the duration, so that a clock put right
    /// in between does not matter; `None` while open.
    #[must_use]
    pub fn ended(&self) -> Option<WallTime> {
        Some(self.started.later(self.duration_s()?))
    }
}

/// A visit with all that belongs to it but its samples.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitRecord {
    /// Who, when, what.
    pub summary: VisitSummary,
    /// Sideways tilt of the table, degrees, where it was told as a number.
    pub table_tilt_deg: Option<f64>,
    /// The table, with the levelling that counted.
    pub table: Option<TableRecord>,
    /// The side and direction named beforehand.
    pub primary: Option<(Side, Direction)>,
    /// What ended repetitions.
    pub end_criterion: Option<EndCriterion>,
    /// Free text.
    pub notes: Option<String>,
    /// By how much the wall clock was put right during the visit, s.
    pub clock_corrected_s: Option<f64>,
    /// The version of the program that recorded it.
    pub program_version: String,
    /// What was done when, by start.
    pub spans: Vec<Span>,
    /// The sensors, by role and strap epoch.
    pub sensors: Vec<VisitSensor>,
    /// How they sat, oldest first.
    pub alignments: Vec<Alignment>,
    /// The repetitions, by time, those struck out among them.
    pub repetitions: Vec<RepetitionRecord>,
    /// Before against after, the oldest algorithm first.
    pub verdicts: Vec<Verdict>,
    /// What was known of the gyroscopes' biases, by time.
    pub gyro_biases: Vec<GyroBias>,
    /// Stretches without samples, by time.
    pub gaps: Vec<Gap>,
    /// Marked moments, by time.
    pub marks: Vec<Mark>,
    /// Looks at comparisons that were still open, by time.
    pub looks: Vec<Look>,
}

impl VisitRecord {
    /// How the table stands on which the visit was measured, if that is known.
    #[must_use]
    pub fn levelling(&self) -> Option<Levelling> {
        let measured = self.table.as_ref().map(|table| table.level.levelling());
        measured.or_else(|| self.table_tilt_deg.map(Levelling::from_degrees))
    }
}

/// A stretch of a visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Its key.
    pub id: SpanId,
    /// What it is.
    pub trial_type: TrialType,
    /// The leg it concerns; `None` for both.
    pub side: Option<Side>,
    /// Start, s.
    pub start_s: f64,
    /// End, s; `None` while it lasts.
    pub end_s: Option<f64>,
}

/// A sensor of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitSensor {
    /// Where it was worn.
    pub role: SensorRole,
    /// Which strapping.
    pub strap_epoch: u32,
    /// Since when, s.
    pub from_s: f64,
    /// The device's address.
    pub address: String,
    /// The name it gave itself.
    pub name: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// The profile its frames were read with.
    pub profile: String,
    /// What a count was worth; `None` for a source without counts.
    pub scale: Option<Scale>,
    /// What its samples were corrected with; those that are kept are as they came.
    pub calibration: Option<SensorCalibration>,
}

/// A repetition with all its values.
#[derive(Debug, Clone, PartialEq)]
pub struct RepetitionRecord {
    /// Its key.
    pub id: RepetitionId,
    /// The leg.
    pub side: Side,
    /// The phase.
    pub phase: Phase,
    /// The direction.
    pub direction: Direction,
    /// Its number within visit, side, phase and direction, from 1 in the order of storing.
    pub number: u32,
    /// Who moved the limb.
    pub rater: Option<Code>,
    /// What ended it.
    pub end_criterion: Option<EndCriterion>,
    /// Which strapping of the shank sensor.
    pub strap_epoch: Option<u32>,
    /// When the movement began, as captured, s.
    pub start_s: f64,
    /// When the end range was reached, as captured, s.
    pub end_range_at_s: f64,
    /// Time spent there, as captured, s.
    pub hold_s: f64,
    /// Why it does not count; `None` where it counts.
    pub struck_out: Option<String>,
    /// The live value.
    pub live: Option<RepetitionValue>,
    /// Final values of one or more algorithms, the newest last.
    pub finals: Vec<RepetitionValue>,
}

impl RepetitionRecord {
    /// The value to report: the newest final one, or the live one until there is one.
    #[must_use]
    pub fn value(&self) -> Option<&RepetitionValue> {
        self.finals.last().or(self.live.as_ref())
    }
}
