//! The JSON that commands print: one struct per object, every number finite or null.
//!
//! Outside programs rely on these names; they may be added to, never renamed.

use endarc_analysis::ALGORITHM_VERSION;
use endarc_analysis::recording::LegResult;
use endarc_analysis::result::{AlignmentReport, Barriers, Dose, Finding, Repetition, Verdict};
use endarc_analysis::verdict::{ALWAYS_SAID, More};
use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use serde::Serialize;

/// What `endarc analyse --json` prints: one leg of one recording.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LegJson {
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
    /// Which values these are.
    pub values: Values,
    /// The version of the algorithms that made them.
    pub algorithm_version: &'static str,
    /// The repetitions of baseline and retest, by time.
    pub repetitions: Vec<RepetitionJson>,
    /// How the sensor sat on the shank.
    pub alignment: AlignmentJson,
    /// What was done in treatment, by time.
    pub treatment: Vec<DoseJson>,
    /// Before against after.
    pub verdicts: Vec<VerdictJson>,
    /// What every report says.
    pub caution: &'static str,
}

/// Which values of a recording are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Values {
    /// As they were told at the table.
    Live,
    /// With the whole recording known.
    Final,
}

/// One repetition.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepetitionJson {
    /// The leg; absent where the whole answer is about one leg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// The phase it was made in.
    pub phase: Phase,
    /// `internal` or `external`.
    pub direction: &'static str,
    /// End range along its direction, degrees.
    pub end_range_deg: Option<f64>,
    /// One standard uncertainty, degrees.
    pub uncertainty_deg: Option<f64>,
    /// When the movement began, s.
    pub start_s: Option<f64>,
    /// A moment at the end range, s.
    pub end_range_at_s: Option<f64>,
    /// Time at the end range, s.
    pub hold_s: Option<f64>,
    /// Knee flexion at the end range, degrees.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll at the end range, degrees; null without a pelvis sensor.
    pub pelvis_roll_deg: Option<f64>,
    /// Where a contraction on the way there began and ended; null where none was seen.
    pub barriers: Option<BarriersJson>,
    /// What a reader should know, from the closed list of `analysis::result::Flag`.
    pub flags: Vec<&'static str>,
}

/// A contraction on the way to an end range.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BarriersJson {
    /// Where the limb stood before it gave, along the direction, degrees.
    pub start_deg: Option<f64>,
    /// Where it stood in the end, along the direction, degrees.
    pub end_deg: Option<f64>,
    /// When it began to give, s.
    pub start_s: Option<f64>,
    /// When it arrived at its end, s.
    pub end_s: Option<f64>,
}

/// How the shank's axes lie in the sensor's frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlignmentJson {
    /// How it was found: `knee-bends` or `quick`.
    pub kind: &'static str,
    /// How far the knee bends were from turning about one axis, degrees.
    pub residual_deg: Option<f64>,
    /// One standard uncertainty of the knee axis, degrees.
    pub uncertainty_deg: Option<f64>,
    /// Hip rotation at the neutral hold, degrees.
    pub neutral_deg: Option<f64>,
    /// The knee's flexion axis in the sensor's frame, to the person's left (unit).
    pub knee_axis: [Option<f64>; 3],
    /// The shank's long axis in the sensor's frame, ankle to knee (unit).
    pub long_axis: [Option<f64>; 3],
}

/// What was done in one treatment span.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoseJson {
    /// Start, s.
    pub start_s: Option<f64>,
    /// Length, s.
    pub duration_s: Option<f64>,
    /// Movements to and fro.
    pub oscillations: usize,
    /// Most external angle, degrees, internal positive; null if the leg was not raised.
    pub min_deg: Option<f64>,
    /// Most internal angle, degrees, internal positive; null if the leg was not raised.
    pub max_deg: Option<f64>,
}

/// Before against after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerdictJson {
    /// The leg; absent where the whole answer is about one leg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// `internal`, `external`, or `total` for both together.
    pub direction: &'static str,
    /// Mean baseline end range, degrees.
    pub baseline_mean_deg: Option<f64>,
    /// Mean retest end range, degrees.
    pub retest_mean_deg: Option<f64>,
    /// Retest minus baseline, degrees.
    pub change_deg: Option<f64>,
    /// 95 % interval of the change, degrees.
    pub ci95_deg: Option<[f64; 2]>,
    /// 95 % interval from the scatter of the repetitions alone, degrees.
    pub ci95_repetitions_deg: Option<[f64; 2]>,
    /// A change must exceed this to be told from error, degrees.
    pub mdc95_deg: Option<f64>,
    /// Beyond this a change is possible, not shown, degrees.
    pub mdc90_deg: Option<f64>,
    /// Where that limit comes from.
    pub mdc95_source: String,
    /// `exceeds-error`, `within-error`, `no-claim` or `not-enough`.
    pub finding: &'static str,
    /// What can be said, in plain words.
    pub statement: String,
    /// Whether this is the measure that was named before treatment.
    pub primary: bool,
    /// By how much the first baseline repetition fell short of the others; null if by no more than
    /// scatter.
    pub loosened_deg: Option<f64>,
    /// How many retest repetitions more would settle it; null where none can.
    pub more_repetitions: Option<usize>,
    /// Baseline repetitions it rests on.
    pub baseline_count: usize,
    /// Retest repetitions it rests on.
    pub retest_count: usize,
}

impl LegJson {
    /// The answer about one leg.
    #[must_use]
    pub fn new(side: Side, test: TestKind, values: Values, leg: &LegResult) -> Self {
        Self {
            side,
            test,
            values,
            algorithm_version: ALGORITHM_VERSION,
            repetitions: leg.repetitions.iter().map(RepetitionJson::from).collect(),
            alignment: AlignmentJson::from(&leg.alignment),
            treatment: leg.doses.iter().map(DoseJson::from).collect(),
            verdicts: leg.verdicts.iter().map(VerdictJson::from).collect(),
            caution: ALWAYS_SAID,
        }
    }
}

impl RepetitionJson {
    /// With its leg, for an answer about both.
    #[must_use]
    pub fn with_side(repetition: &Repetition) -> Self {
        Self { side: Some(repetition.side), ..Self::from(repetition) }
    }
}

impl VerdictJson {
    /// With its leg, for an answer about both.
    #[must_use]
    pub fn with_side(verdict: &Verdict) -> Self {
        Self { side: Some(verdict.side), ..Self::from(verdict) }
    }
}

impl From<&Repetition> for RepetitionJson {
    fn from(from: &Repetition) -> Self {
        Self {
            side: None,
            phase: from.phase,
            direction: from.direction.as_str(),
            end_range_deg: finite(from.end_range_deg),
            uncertainty_deg: finite(from.uncertainty_deg),
            start_s: finite(from.start_s),
            end_range_at_s: finite(from.end_range_at_s),
            hold_s: finite(from.hold_s),
            knee_flexion_deg: from.knee_flexion_deg.and_then(finite),
            pelvis_roll_deg: from.pelvis_roll_deg.and_then(finite),
            barriers: from.barriers.map(BarriersJson::from),
            flags: from.flags.iter().map(|flag| flag.as_str()).collect(),
        }
    }
}

impl From<Barriers> for BarriersJson {
    fn from(from: Barriers) -> Self {
        Self {
            start_deg: finite(from.start_deg),
            end_deg: finite(from.end_deg),
            start_s: finite(from.start_s),
            end_s: finite(from.end_s),
        }
    }
}

impl From<&AlignmentReport> for AlignmentJson {
    fn from(from: &AlignmentReport) -> Self {
        Self {
            kind: from.kind.as_str(),
            residual_deg: finite(from.residual_deg),
            uncertainty_deg: finite(from.uncertainty_deg),
            neutral_deg: finite(from.neutral_deg),
            knee_axis: from.knee_axis.map(finite),
            long_axis: from.long_axis.map(finite),
        }
    }
}

impl From<&Dose> for DoseJson {
    fn from(from: &Dose) -> Self {
        Self {
            start_s: finite(from.start_s),
            duration_s: finite(from.duration_s),
            oscillations: from.oscillations,
            min_deg: from.min_deg.and_then(finite),
            max_deg: from.max_deg.and_then(finite),
        }
    }
}

impl From<&Verdict> for VerdictJson {
    fn from(from: &Verdict) -> Self {
        Self {
            side: None,
            direction: direction(from),
            baseline_mean_deg: from.baseline_mean_deg.and_then(finite),
            retest_mean_deg: from.retest_mean_deg.and_then(finite),
            change_deg: from.change_deg.and_then(finite),
            ci95_deg: interval(from.ci95_deg),
            ci95_repetitions_deg: interval(from.ci95_repetitions_deg),
            mdc95_deg: finite(from.mdc95_deg),
            mdc90_deg: finite(from.mdc90_deg),
            mdc95_source: from.mdc95_source.clone(),
            finding: finding(from.finding),
            statement: from.statement.clone(),
            primary: from.primary,
            loosened_deg: from.loosened_deg.and_then(finite),
            more_repetitions: match from.more {
                Some(More::Repetitions(count)) => Some(count),
                Some(More::Settled) => Some(0),
                _ => None,
            },
            baseline_count: from.baseline_count,
            retest_count: from.retest_count,
        }
    }
}

/// The word for what a verdict is about: a direction, or `total`.
#[must_use]
pub fn direction(verdict: &Verdict) -> &'static str {
    direction_or_total(verdict.direction)
}

/// The word for a direction, or for both together.
#[must_use]
pub fn direction_or_total(direction: Option<Direction>) -> &'static str {
    direction.map_or("total", |one| one.as_str())
}

const fn finding(finding: Finding) -> &'static str {
    match finding {
        Finding::ExceedsError => "exceeds-error",
        Finding::WithinError => "within-error",
        Finding::NoClaim => "no-claim",
        Finding::NotEnough => "not-enough",
    }
}

/// Both ends, or nothing.
pub(super) fn interval(ends: Option<[f64; 2]>) -> Option<[f64; 2]> {
    ends.filter(|ends| ends.iter().all(|end| end.is_finite()))
}

/// What cannot be computed is null.
pub(super) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

#[cfg(test)]
mod tests {
    use endarc_analysis::result::Flag;
    use serde_json::json;

    use super::*;

    #[test]
    fn a_repetition_prints_as_documented_and_never_nan() {
        let repetition = Repetition {
            side: Side::Right,
            phase: Phase::Baseline,
            direction: Direction::Internal,
            end_range_deg: 31.5,
            uncertainty_deg: 0.5,
            start_s: 1.0,
            end_range_at_s: 3.0,
            hold_s: 1.5,
            knee_flexion_deg: Some(f64::NAN),
            pelvis_roll_deg: None,
            barriers: None,
            flags: vec![Flag::PelvisNotSeen],
        };
        let mut expected = json!({
            "phase": "baseline", "direction": "internal", "end_range_deg": 31.5,
            "uncertainty_deg": 0.5, "start_s": 1.0, "end_range_at_s": 3.0, "hold_s": 1.5,
            "knee_flexion_deg": null, "pelvis_roll_deg": null, "barriers": null, "flags": ["pelvis-not-seen"],
        });
        assert_eq!(json!(RepetitionJson::from(&repetition)), expected);
        expected["side"] = json!("right");
        assert_eq!(json!(RepetitionJson::with_side(&repetition)), expected);
    }

    #[test]
    fn a_verdict_without_direction_is_about_total_rotation() {
        let verdict = Verdict {
            side: Side::Left,
            direction: None,
            baseline_count: 3,
            retest_count: 0,
            baseline_mean_deg: Some(70.0),
            retest_mean_deg: None,
            change_deg: None,
            ci95_deg: Some([f64::NEG_INFINITY, f64::INFINITY]),
            ci95_repetitions_deg: None,
            mdc95_deg: 8.0,
            mdc90_deg: f64::NAN,
            primary: true,
            loosened_deg: None,
            more: Some(More::Repetitions(2)),
            mdc95_source: "somewhere".to_owned(),
            finding: Finding::NotEnough,
            statement: "Too few.".to_owned(),
        };
        let expected = json!({
            "direction": "total", "baseline_mean_deg": 70.0, "retest_mean_deg": null,
            "change_deg": null, "ci95_deg": null, "mdc95_deg": 8.0, "mdc95_source": "somewhere",
            "statement": "Too few.", "baseline_count": 3, "retest_count": 0,
            "ci95_repetitions_deg": null, "mdc90_deg": null, "finding": "not-enough",
            "primary": true, "loosened_deg": null, "more_repetitions": 2,
        });
        assert_eq!(json!(VerdictJson::from(&verdict)), expected);
    }
}
