//! What repetitions cannot show: every one of a measurement may be off by the same amount.
//!
//! The end is decided anew, the strap sits elsewhere, it is another day. A clinic's study says how much
//! that is; without one it is assumed.
//!
//! Assumed are floors of 6°, or 9° if the strap moved, from smallest detectable changes of 5.4°
//! (Krause et al., Knee Surg Sports Traumatol Arthrosc 2015, seated) and 6.1–8.6° (Gradoz et al. 2018,
//! supine and seated); between days 10°, which is what the unstretched hips of a trial gave (Chatfield,
//! Problem Solving 1995: 1.96·√2·3.61), and 13° where the hip is painful or arthritic (Pua et al., Arch
//! Phys Med Rehabil 2008: 1.96·√2·4.7). Such published changes hold the scatter of repetitions too. What
//! is left of a floor after that of a mean of three that scatter by 2° (our assumption) is the shift of a
//! whole measurement: 1.8° (6°), 3.0° (9°), 3.4° (10°) and 4.6° (13°), one standard deviation.

use super::conditions::{Changed, Conditions};
use super::study::{Covers, ReliabilityStudy};

/// The part of a change's error that no repetition shows, for one end decision on each side.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unseen {
    /// No change up to this is called one, degrees (at 95 %).
    pub(super) floor_deg: f64,
    /// Variance of the change, degrees².
    pub(super) variance: f64,
    /// Its degrees of freedom; infinite where it is assumed.
    pub(super) freedom: f64,
    /// Whose floor it is.
    pub(super) origin: Origin,
}

/// Where a floor comes from.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Origin {
    /// Our assumption, for these circumstances.
    Assumed(Covers),
    /// A study.
    Study(String),
}

impl Unseen {
    /// Under these conditions.
    pub(super) fn of(conditions: &Conditions, strap_moved: bool) -> Self {
        let needed = if conditions.has(Changed::Day) {
            Covers::OtherDay
        } else if strap_moved || conditions.has(Changed::Strap) {
            Covers::NewStrap
        } else {
            Covers::SameStrap
        };
        // A study that repeated less says nothing of what it left out.
        match conditions.study.as_ref().filter(|study| study.covers() >= needed) {
            Some(study) => Self::studied(study),
            None => Self::assumed(needed, conditions.painful),
        }
    }

    /// Assumed for two measurements that were each strapped anew: left against right.
    pub(super) fn between_straps(study: Option<&ReliabilityStudy>) -> Self {
        let study = study.filter(|study| study.covers() >= Covers::NewStrap);
        study.map_or_else(|| Self::assumed(Covers::NewStrap, false), Self::studied)
    }

    fn studied(study: &ReliabilityStudy) -> Self {
        Self {
            floor_deg: study.sem().mdc95(),
            variance: 2.0 * study.unseen_variance(),
            freedom: study.freedom(),
            origin: Origin::Study(study.name().to_owned()),
        }
    }

    fn assumed(covers: Covers, painful: bool) -> Self {
        let floor_deg = match covers {
            Covers::SameStrap => 6.0,
            Covers::NewStrap => 9.0,
            Covers::OtherDay if painful => 13.0,
            Covers::OtherDay => 10.0,
        };
        let shown = 2.0 * ASSUMED_SCATTER_DEG.powi(2) / ASSUMED_COUNT;
        Self {
            floor_deg,
            variance: (floor_deg / 1.96).powi(2) - shown,
            freedom: f64::INFINITY,
            origin: Origin::Assumed(covers),
        }
    }

    /// Of the sum of two directions: two end decisions, independent of each other.
    pub(super) fn twice(mut self) -> Self {
        self.floor_deg *= std::f64::consts::SQRT_2;
        self.variance *= 2.0;
        self
    }
}

impl Origin {
    /// For which circumstances an assumed floor stands.
    pub(super) const fn circumstances(covers: Covers) -> &'static str {
        match covers {
            Covers::SameStrap => "strap unmoved",
            Covers::NewStrap => "strap moved",
            Covers::OtherDay => "other day",
        }
    }

    /// The source of the floor, in words.
    pub(super) fn source(&self) -> String {
        match self {
            Self::Study(name) => format!("reliability study: {name}"),
            Self::Assumed(covers @ Covers::OtherDay) => format!(
                "assumed floor for one rater, {}; from the control hips of one trial (10°) and a \
                 study of arthritic hips (13°); no study of this set-up exists",
                Self::circumstances(*covers)
            ),
            Self::Assumed(covers) => format!(
                "assumed floor for one rater, one visit, {}; from published smallest detectable \
                 changes of 5.4° to 8.6° in other positions; no study of this set-up exists",
                Self::circumstances(*covers)
            ),
        }
    }
}

const ASSUMED_SCATTER_DEG: f64 = 2.0;
const ASSUMED_COUNT: f64 = 3.0;
