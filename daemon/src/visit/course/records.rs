//! What can be noted once the leg is down, all of it optional.

use endarc_protocol::words;
use endarc_protocol::words::{Direction, Phase, Side};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

words! {
    /// How an end of movement feels to the hand.
    EndFeel, "end-feel", {
        /// Soft.
        Soft = "soft",
        /// Firm.
        Firm = "firm",
        /// Hard.
        Hard = "hard",
        /// Springy.
        Springy = "springy",
        /// A muscle goes into spasm.
        Spasm = "spasm",
        /// Empty: pain before any resistance.
        Empty = "empty",
    }
}

words! {
    /// What a note is about.
    TextKind, "kind of note", {
        /// The person's own functional sign before treatment.
        SignBefore = "sign-before",
        /// The same afterwards.
        SignAfter = "sign-after",
        /// An adverse reaction.
        Adverse = "adverse",
        /// The exercise for at home.
        Exercise = "exercise",
        /// When the next visit is.
        NextVisit = "next-visit",
        /// How it was since the last visit.
        SinceLast = "since-last",
        /// Anything else.
        Note = "note",
    }
}

/// Pain on the 0 to 10 numerical rating scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pain {
    /// 0 to 10.
    pub rating: u8,
    /// The leg that was moved, if one was.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    pub side: Option<Side>,
}

/// How the end of a side and direction was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SideNote {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which direction.
    #[schema(value_type = String)]
    pub direction: Direction,
    /// In which phase.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    pub phase: Option<Phase>,
    /// How it felt to the hand.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    pub end_feel: Option<EndFeel>,
    /// What stopped it.
    #[serde(default)]
    pub stopped_by: String,
    /// Whether it brought the familiar symptom.
    #[serde(default)]
    pub familiar: Option<bool>,
    /// Where that is felt.
    #[serde(default)]
    pub felt_where: String,
}

/// What was done in treatment.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Technique {
    /// Which.
    pub name: String,
    /// On which tissue.
    #[serde(default)]
    pub tissue: String,
    /// Where the hand was.
    #[serde(default)]
    pub contact: String,
    /// With how much effort.
    #[serde(default)]
    pub effort: String,
}

/// A note in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Text {
    /// What it is about.
    #[schema(value_type = String)]
    pub about: TextKind,
    /// The words.
    pub text: String,
}
