//! The script: what is done to which leg, in order.

use endarc_protocol::words::{Direction, Phase, Side};
use serde::{Deserialize, Serialize};

use super::bounds::{count, some, within};

/// One step of the script: a table with exactly one key. Keys are described in
/// `scenarios/README.md`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Step {
    /// A still hold with the shank about vertical.
    Neutral(Neutral),
    /// The knee is bent and straightened.
    AlignKnee(AlignKnee),
    /// Repetitions before treatment.
    Baseline(Measure),
    /// Something is done.
    Treatment(Treatment),
    /// Repetitions after treatment.
    Retest(Measure),
    /// The leg that is up is laid flat.
    Rest(Rest),
    /// A strap slips.
    Strap(StrapSlip),
    /// A foot is put on the floor, and the leg back on the table.
    FootDown(FootDown),
}

impl Step {
    /// The step's key.
    pub(crate) const fn name(&self) -> &'static str {
        match self {
            Self::Neutral(_) => "neutral",
            Self::AlignKnee(_) => "align-knee",
            Self::Baseline(_) => "baseline",
            Self::Treatment(_) => "treatment",
            Self::Retest(_) => "retest",
            Self::Rest(_) => "rest",
            Self::Strap(_) => "strap",
            Self::FootDown(_) => "foot-down",
        }
    }

    /// The phase and the repetitions of a step that measures.
    pub(crate) const fn measure(&self) -> Option<(Phase, &Measure)> {
        match self {
            Self::Baseline(step) => Some((Phase::Baseline, step)),
            Self::Retest(step) => Some((Phase::Retest, step)),
            _ => None,
        }
    }

    /// The leg it names; `None` for every leg that has a sensor.
    pub(crate) const fn side(&self) -> Option<Side> {
        match self {
            Self::Neutral(step) => step.side,
            Self::AlignKnee(step) => step.side,
            Self::Baseline(step) | Self::Retest(step) => step.side,
            Self::Treatment(step) => step.side,
            Self::Strap(step) => step.side,
            Self::FootDown(step) => step.side,
            Self::Rest(_) => None,
        }
    }
}

/// A still hold.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Neutral {
    pub(crate) side: Option<Side>,
    #[serde(deserialize_with = "within::<0, 600, _>")]
    pub(crate) hold_s: f64,
}

impl Default for Neutral {
    fn default() -> Self {
        Self { side: None, hold_s: 3.0 }
    }
}

/// Which way the knee goes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Begins {
    /// From the leg lying flat: lifting the foot is the first bend.
    Bending,
    /// From the shank upright.
    Straightening,
}

/// Bending and straightening.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct AlignKnee {
    pub(crate) side: Option<Side>,
    pub(crate) begins: Begins,
    #[serde(deserialize_with = "count::<1, 20, _>")]
    pub(crate) times: u32,
}

impl Default for AlignKnee {
    fn default() -> Self {
        Self { side: None, begins: Begins::Bending, times: 4 }
    }
}

/// How a repetition reaches its end range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// Out, held, back.
    Held,
    /// Out and straight back.
    Touch,
    /// Out, held, and straight on to the other end.
    Through,
    /// Out, held, pushed further, held.
    Deeper,
    /// Out, held while the person pushes against the hand and the limb gives a little, then further
    /// and held.
    Contract,
    /// Out at about 2°/s, held, back.
    Slow,
    /// Out at 90°/s where it is fastest, held, back as fast.
    Fast,
    /// Out, held, worked to and fro by 3–6° just short of the end, back.
    OscillateAtEnd,
    /// The limb creeps away from neutral by 3–6° first; then out, held, and back to where it crept.
    Drift,
    /// Out by only 3–7°, held, and marked by the therapist while it is held; back.
    Marked,
    /// Small movements about the middle, none of them meant: no repetition.
    Wander,
}

/// In which order directions follow one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Order {
    /// All repetitions of one direction, then all of the next.
    Blocked,
    /// One of each in turn.
    Alternating,
}

/// Repetitions of one leg.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Measure {
    pub(crate) side: Option<Side>,
    /// Left out in the file it is those of the test.
    #[serde(deserialize_with = "some")]
    pub(crate) directions: Vec<Direction>,
    #[serde(deserialize_with = "count::<1, 50, _>")]
    pub(crate) repetitions: u32,
    #[serde(deserialize_with = "some")]
    pub(crate) styles: Vec<Style>,
    pub(crate) order: Order,
}

impl Default for Measure {
    fn default() -> Self {
        Self {
            side: None,
            directions: Vec::new(),
            repetitions: 3,
            styles: vec![Style::Held],
            order: Order::Blocked,
        }
    }
}

impl Measure {
    /// Direction and style of every repetition, in order; styles are used in turn.
    pub(crate) fn repetitions(&self) -> Vec<(Direction, Style)> {
        let times = self.repetitions as usize;
        let directions: Vec<Direction> = match self.order {
            Order::Blocked => self
                .directions
                .iter()
                .flat_map(|direction| std::iter::repeat_n(*direction, times))
                .collect(),
            Order::Alternating => {
                let all = times * self.directions.len();
                self.directions.iter().copied().cycle().take(all).collect()
            }
        };
        directions.into_iter().zip(self.styles.iter().copied().cycle()).collect()
    }
}

/// Contract–relax cycles, then oscillations; either may be none.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Treatment {
    pub(crate) side: Option<Side>,
    pub(crate) direction: Direction,
    #[serde(deserialize_with = "count::<0, 20, _>")]
    pub(crate) cycles: u32,
    #[serde(deserialize_with = "within::<1, 120, _>")]
    pub(crate) contraction_s: f64,
    #[serde(deserialize_with = "within::<1, 120, _>")]
    pub(crate) lengthen_s: f64,
    #[serde(deserialize_with = "within::<0, 300, _>")]
    pub(crate) hold_s: f64,
    #[serde(deserialize_with = "within::<0, 600, _>")]
    pub(crate) oscillate_s: f64,
    #[serde(deserialize_with = "within::<0, 30, _>")]
    pub(crate) oscillate_deg: f64,
    #[serde(deserialize_with = "within::<6, 180, _>")]
    pub(crate) oscillate_per_min: f64,
}

impl Default for Treatment {
    fn default() -> Self {
        Self {
            side: None,
            direction: Direction::Internal,
            cycles: 2,
            contraction_s: 10.0,
            lengthen_s: 20.0,
            hold_s: 25.0,
            oscillate_s: 0.0,
            oscillate_deg: 4.0,
            oscillate_per_min: 48.0,
        }
    }
}

/// Laying down whichever leg is up, and waiting.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Rest {
    #[serde(deserialize_with = "within::<0, 3600, _>")]
    pub(crate) duration_s: f64,
}

impl Default for Rest {
    fn default() -> Self {
        Self { duration_s: 5.0 }
    }
}

/// A strap that slips: turns about the shank's axes, degrees.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct StrapSlip {
    pub(crate) side: Option<Side>,
    #[serde(deserialize_with = "within::<-180, 180, _>")]
    pub(crate) along: f64,
    #[serde(deserialize_with = "within::<-180, 180, _>")]
    pub(crate) across: f64,
    #[serde(deserialize_with = "within::<-180, 180, _>")]
    pub(crate) about: f64,
}

/// A foot on the floor.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct FootDown {
    pub(crate) side: Option<Side>,
    #[serde(deserialize_with = "within::<0, 3600, _>")]
    pub(crate) duration_s: f64,
}

impl Default for FootDown {
    fn default() -> Self {
        Self { side: None, duration_s: 10.0 }
    }
}
