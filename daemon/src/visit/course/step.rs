//! The steps of a guided visit, in order.

use endarc_protocol::words;
use endarc_protocol::words::{Phase, Side, TrialType};

words! {
    /// A step of a guided visit.
    Step, "step", {
        /// Who it is: code, affected side, directions that must not be moved.
        Person = "person",
        /// What speaks for caution, asked once; then only what is new.
        Cautions = "cautions",
        /// Under 18: what may point to the growth plate, asked before any movement.
        Growth = "growth",
        /// Consent to being touched and to data being kept.
        Consent = "consent",
        /// What ends a repetition, the primary measure, how many repetitions.
        Plan = "plan",
        /// Sensors on, and sending.
        Sensors = "sensors",
        /// The right knee is bent, then the shank held upright.
        PrepareRight = "prepare-right",
        /// The left knee is bent, then the shank held upright.
        PrepareLeft = "prepare-left",
        /// Measured before anything is done.
        Baseline = "baseline",
        /// What the visit is for.
        Treatment = "treatment",
        /// The legs lie flat for a minute; what may differ from baseline is asked.
        Settle = "settle",
        /// Measured again.
        Retest = "retest",
        /// What it came to, and what is to be noted.
        Summary = "summary",
    }
}

impl Step {
    /// Whether it is answered on the page, the hands free; else limb and pedal lead through it.
    #[must_use]
    pub const fn is_asked(self) -> bool {
        matches!(self, Self::Person | Self::Cautions | Self::Growth | Self::Consent | Self::Plan)
    }

    /// The leg that is prepared.
    pub(super) const fn prepares(self) -> Option<Side> {
        match self {
            Self::PrepareRight => Some(Side::Right),
            Self::PrepareLeft => Some(Side::Left),
            _ => None,
        }
    }

    /// The phase in which repetitions are counted.
    pub(super) const fn measures(self) -> Option<Phase> {
        match self {
            Self::Baseline => Some(Phase::Baseline),
            Self::Retest => Some(Phase::Retest),
            _ => None,
        }
    }

    /// The span that begins with it.
    pub(super) const fn span(self) -> Option<TrialType> {
        match self {
            Self::PrepareRight | Self::PrepareLeft => Some(TrialType::AlignKnee),
            Self::Baseline => Some(TrialType::Baseline),
            Self::Treatment => Some(TrialType::Treatment),
            Self::Retest => Some(TrialType::Retest),
            _ => None,
        }
    }
}
