//! What is answered on the page. An answer is kept as it was given, and a visit that was broken off
//! comes back to its place by its answers alone.

use endarc_protocol::words::{Direction, EndCriterion, Side};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::cautions::Caution;
use super::records::{Pain, SideNote, Technique, Text, TextKind};
use super::step::Step;

/// One thing that was answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Answer {
    /// Who it is.
    Person(Person),
    /// The cautions were asked, and these apply.
    Cautions(Cautions),
    /// Nothing is new since the last visit.
    NothingNew {},
    /// Under 18: asked about the growth plate.
    Growth(Growth),
    /// What is consented to.
    Consent(Consent),
    /// Consent is withdrawn.
    Withdraw(Withdraw),
    /// What ends a repetition, the primary measure, how many repetitions.
    Plan(Plan),
    /// What is the same as in baseline; asked before the retest.
    Same(Same),
    /// Goes on to the next step.
    Next {},
    /// The present step is left out.
    Skip(Skip),
    /// An earlier step is done once more.
    Again(Again),
    /// Who has the hands on the leg from now on.
    Rater(Rater),
    /// Pain, 0 to 10.
    Pain(Pain),
    /// How an end felt, what stopped it, and whether it is the familiar symptom.
    End(SideNote),
    /// What was done.
    Technique(Technique),
    /// Something in words.
    Note(Text),
}

impl Answer {
    /// The step it belongs to; `None` for what can be noted at any time.
    #[must_use]
    pub const fn step(&self) -> Option<Step> {
        match self {
            Self::Person(_) => Some(Step::Person),
            Self::Cautions(_) | Self::NothingNew {} => Some(Step::Cautions),
            Self::Growth(_) => Some(Step::Growth),
            Self::Consent(_) => Some(Step::Consent),
            Self::Plan(_) => Some(Step::Plan),
            Self::Same(_) => Some(Step::Settle),
            _ => None,
        }
    }

    /// Whether a newer one of the same kind takes its place.
    #[must_use]
    pub fn replaces(&self, older: &Self) -> bool {
        match (self, older) {
            (Self::Note(one), Self::Note(other)) => {
                one.about == other.about && one.about != TextKind::Note
            }
            (Self::End(one), Self::End(other)) => {
                (one.side, one.direction, one.phase) == (other.side, other.direction, other.phase)
            }
            (Self::Pain(_), Self::Pain(_)) | (Self::Skip(_), Self::Skip(_)) => false,
            _ => std::mem::discriminant(self) == std::mem::discriminant(older),
        }
    }
}

/// Who it is. No name is needed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// The person's code; left out: as the visit was begun with.
    #[serde(default)]
    pub code: Option<String>,
    /// Under 18: a guardian consents, the child assents, adult ranges are not shown.
    #[serde(default)]
    pub under_18: bool,
    /// The affected side, if one is.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    pub affected: Option<Side>,
    /// What must not be moved, after surgery say: it gets no prompt and no target.
    #[serde(default)]
    pub barred: Vec<Way>,
}

/// A side and direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Way {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which direction.
    #[schema(value_type = String)]
    pub direction: Direction,
}

/// The whole list was asked.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Cautions {
    /// What applies.
    #[serde(default)]
    #[schema(value_type = Vec<String>)]
    pub apply: Vec<Caution>,
    /// Who has looked at what applies, and why it is gone on with; needed where something applies.
    #[serde(default)]
    pub looked_at: String,
}

/// Asked of a person under 18 before any movement.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Growth {
    /// A limp.
    pub limp: bool,
    /// Pain in groin, thigh or knee.
    pub knee_or_groin_pain: bool,
    /// Who has looked at the growth plate of the hip; needed where either is so.
    #[serde(default)]
    pub looked_at: String,
}

/// What is consented to, after it was explained.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Consent {
    /// To being touched and moved as explained, in this visit.
    pub contact: bool,
    /// To movement data and notes being kept under the code.
    pub keeping: bool,
    /// For how many years they are kept.
    pub years: u8,
    /// To their use in research under the code.
    #[serde(default)]
    pub research: bool,
    /// Under 18: the guardian consents.
    #[serde(default)]
    pub guardian: bool,
    /// Under 18: the child assents.
    #[serde(default)]
    pub child: bool,
    /// What was agreed besides: clothing, somebody who stays in the room.
    #[serde(default)]
    pub agreed: String,
}

/// Which consent is withdrawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Withdraw {
    /// To being touched: the visit is over.
    #[serde(default)]
    pub contact: bool,
    /// To data being kept: the visit is over, and is to be deleted.
    #[serde(default)]
    pub keeping: bool,
}

/// What is measured, and how.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// What ends a repetition, the same at retest.
    #[schema(value_type = String)]
    pub end_criterion: EndCriterion,
    /// The one measure that the treatment is meant for.
    pub primary: Way,
    /// Repetitions of each side and direction, 1 to 10.
    pub repetitions: u8,
    /// Movements of each side and direction that are not counted before baseline, 0 to 3.
    #[serde(default)]
    pub warm_up: u8,
    /// Whether side and direction are asked for in an order by chance; else the order is free.
    #[serde(default)]
    pub by_chance: bool,
    /// Only the primary direction, both sides.
    #[serde(default)]
    pub short: bool,
}

/// What is the same as in baseline; null where nobody has looked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Same {
    /// Pillow or towel.
    #[serde(default)]
    pub pillow: Option<bool>,
    /// The head's position.
    #[serde(default)]
    pub head: Option<bool>,
    /// The other leg's position.
    #[serde(default)]
    pub other_leg: Option<bool>,
    /// How the knee is held.
    #[serde(default)]
    pub knee_held: Option<bool>,
    /// The knee's angle.
    #[serde(default)]
    pub knee_angle: Option<bool>,
}

/// Why a step is left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Skip {
    /// The reason.
    pub reason: String,
}

/// Which step is done once more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Again {
    /// The step.
    #[schema(value_type = String)]
    pub step: Step,
}

/// Who has the hands on the leg.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Rater {
    /// A code, never a name.
    pub code: String,
}
