//! Under which conditions two measurements are compared.

use endarc_protocol::words::{Direction, Side};

use super::study::ReliabilityStudy;

/// What differed between the two measurements, besides what was done in between. A closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Changed {
    /// The sensor was taken off, moved or zeroed anew.
    Strap,
    /// They were made on different days.
    Day,
    /// Another rater moved the limb.
    Rater,
    /// The person lay or sat otherwise.
    Position,
    /// The end of a movement was decided by another criterion.
    EndCriterion,
}

impl Changed {
    /// Every one.
    pub const ALL: [Self; 5] =
        [Self::Strap, Self::Day, Self::Rater, Self::Position, Self::EndCriterion];

    /// The one spelling of this word.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Strap => "strap",
            Self::Day => "day",
            Self::Rater => "rater",
            Self::Position => "position",
            Self::EndCriterion => "end-criterion",
        }
    }
}

/// How often the result was looked at while it could still decide whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Looks {
    /// Once, at the end: the number of repetitions did not depend on what they showed.
    #[default]
    Once,
    /// After every repetition of the retest, until something changed.
    AfterEach,
}

/// The one measure that was named before treatment; the stated error rate holds for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Primary {
    /// The leg.
    pub side: Side,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
}

/// Everything a comparison needs to know besides the repetitions.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conditions {
    /// What differed. That the strap moved is also taken from the repetitions' flags.
    pub changed: Vec<Changed>,
    /// Whether the hip is painful or arthritic; counts between days only.
    pub painful: bool,
    /// The clinic's own reliability study, in place of the assumed floors.
    pub study: Option<ReliabilityStudy>,
    /// The primary measure, if one was named before treatment.
    pub primary: Option<Primary>,
    /// How often it was looked at.
    pub looks: Looks,
    /// Whether the person stopped a repetition for pain: no more are asked for.
    pub stopped_by_pain: bool,
}

impl Conditions {
    /// Whether this differed.
    #[must_use]
    pub fn has(&self, changed: Changed) -> bool {
        self.changed.contains(&changed)
    }
}
