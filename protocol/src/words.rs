//! The trade's words as types: sides, directions, phases, and what an event marks.
//!
//! Each has exactly one spelling ([`Side::as_str`] and so on), used in CSV, TOML, JSON, SQL and on
//! the command line alike.

/// A text that is not one of the words allowed in its place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown {what} '{got}': expected one of {}", allowed.join(", "))]
pub struct UnknownWord {
    /// What stands in this place.
    pub what: &'static str,
    /// What was found.
    pub got: String,
    /// What may stand there.
    pub allowed: Vec<&'static str>,
}

/// Defines an enum whose variants each have one spelling, with `ALL`, `as_str`, `Display`,
/// `FromStr` and serde by that spelling.
///
/// ```
/// endarc_protocol::words! {
///     /// Which hand.
///     Hand, "hand", {
///         /// The near one.
///         Near = "near",
///         /// The far one.
///         Far = "far",
///     }
/// }
/// assert_eq!("far".parse(), Ok(Hand::Far));
/// ```
#[macro_export]
macro_rules! words {
    ($(#[$meta:meta])* $name:ident, $what:literal, { $($(#[$doc:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, ::serde::Serialize, ::serde::Deserialize)]
        pub enum $name {
            $($(#[$doc])* #[serde(rename = $text)] $variant),+
        }

        impl $name {
            /// Every value, in the order in which they are listed to a person.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The one spelling of this word.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text),+ }
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl ::std::str::FromStr for $name {
            type Err = $crate::words::UnknownWord;

            fn from_str(text: &str) -> Result<Self, $crate::words::UnknownWord> {
                Self::ALL.iter().copied().find(|word| word.as_str() == text).ok_or_else(|| {
                    $crate::words::UnknownWord {
                        what: $what,
                        got: text.to_owned(),
                        allowed: Self::ALL.iter().map(|word| word.as_str()).collect(),
                    }
                })
            }
        }
    };
}

words! {
    /// The person's own left or right.
    Side, "side", {
        /// The person's left leg.
        Left = "left",
        /// The person's right leg.
        Right = "right",
    }
}

impl Side {
    /// The other leg.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

words! {
    /// Which way the hip turns. Angles are signed by the ISB convention: internal positive.
    Direction, "direction", {
        /// Internal rotation; prone with the knee bent the foot moves outward.
        Internal = "internal",
        /// External rotation; prone with the knee bent the foot moves inward.
        External = "external",
        /// Knee flexion.
        Flexion = "flexion",
    }
}

impl Direction {
    /// `+1.0` for internal and for flexion, `-1.0` for external: a signed angle times this is the
    /// angle along the direction.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Internal | Self::Flexion => 1.0,
            Self::External => -1.0,
        }
    }
}

words! {
    /// A part of a visit.
    Phase, "phase", {
        /// Measured before anything is done.
        Baseline = "baseline",
        /// Something is done; movements are dose, not repetitions.
        Treatment = "treatment",
        /// Measured again afterwards.
        Retest = "retest",
    }
}

words! {
    /// What ends a repetition; chosen before baseline, the same at retest.
    EndCriterion, "end criterion", {
        /// The first firm resistance.
        FirstResistance = "first-resistance",
        /// The pelvis begins to move.
        PelvisMoves = "pelvis-moves",
        /// Pain.
        Pain = "pain",
        /// The person says stop.
        PersonSaysStop = "person-says-stop",
    }
}

words! {
    /// What a span of a recording is: the `trial_type` of an Events CSV.
    TrialType, "trial_type", {
        /// A still hold with the shank about vertical.
        Neutral = "neutral",
        /// The knee is bent and straightened a few times, beginning either way.
        AlignKnee = "align-knee",
        /// Repetitions before treatment.
        Baseline = "baseline",
        /// Treatment; summarised as dose.
        Treatment = "treatment",
        /// Repetitions after treatment.
        Retest = "retest",
    }
}

impl TrialType {
    /// The phase this span belongs to; `None` for the spans that only prepare.
    #[must_use]
    pub const fn phase(self) -> Option<Phase> {
        match self {
            Self::Baseline => Some(Phase::Baseline),
            Self::Treatment => Some(Phase::Treatment),
            Self::Retest => Some(Phase::Retest),
            Self::Neutral | Self::AlignKnee => None,
        }
    }
}

words! {
    /// A defined measurement. Positions are never compared with one another.
    TestKind, "test", {
        /// Prone, knee bent, hip rotated through the shank: gravity shows the angle.
        ProneHipRotation = "prone-hip-rotation",
        /// Prone, both knees bent, both feet left to fall outward by their own weight.
        ProneBothHipsRotation = "prone-both-hips-rotation",
        /// Seated, shank hanging: gravity shows the angle.
        SeatedHipRotation = "seated-hip-rotation",
        /// Supine, hip straight, shank hanging over the table's edge: gravity shows the angle.
        SupineHangingHipRotation = "supine-hanging-hip-rotation",
        /// Supine, hip and knee at 90°: the axis is vertical, only the gyroscope shows the angle.
        Supine9090HipRotation = "supine-90-90-hip-rotation",
        /// Prone, the knee bent until the pelvis begins to tilt.
        ProneKneeBend = "prone-knee-bend",
    }
}

impl TestKind {
    /// The directions that are measured, in the order in which they are listed to a person.
    #[must_use]
    pub const fn directions(self) -> &'static [Direction] {
        match self {
            Self::ProneHipRotation
            | Self::SeatedHipRotation
            | Self::SupineHangingHipRotation
            | Self::Supine9090HipRotation => &[Direction::Internal, Direction::External],
            Self::ProneBothHipsRotation => &[Direction::Internal],
            Self::ProneKneeBend => &[Direction::Flexion],
        }
    }
}

words! {
    /// Where a sensor is worn.
    SensorRole, "sensor role", {
        /// On the left shank.
        LeftShank = "left-shank",
        /// On the right shank.
        RightShank = "right-shank",
        /// On the pelvis.
        Pelvis = "pelvis",
        /// On the left thigh: recorded, not yet part of an angle.
        LeftThigh = "left-thigh",
        /// On the right thigh: recorded, not yet part of an angle.
        RightThigh = "right-thigh",
    }
}

impl SensorRole {
    /// The role of the shank sensor of a leg.
    #[must_use]
    pub const fn shank(side: Side) -> Self {
        match side {
            Side::Left => Self::LeftShank,
            Side::Right => Self::RightShank,
        }
    }

    /// The leg a shank sensor measures; `None` for the pelvis and the thighs.
    #[must_use]
    pub const fn side(self) -> Option<Side> {
        match self {
            Self::LeftShank => Some(Side::Left),
            Self::RightShank => Some(Side::Right),
            Self::Pelvis | Self::LeftThigh | Self::RightThigh => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back_as_itself() {
        for word in TrialType::ALL {
            assert_eq!(word.as_str().parse(), Ok(*word));
        }
        assert_eq!("right".parse(), Ok(Side::Right));
    }

    #[test]
    fn an_unknown_word_names_what_is_allowed() {
        let error = "inward".parse::<Direction>().unwrap_err();
        assert_eq!(
            error.to_string(),
            "unknown direction 'inward': expected one of internal, external, flexion"
        );
    }
}
