//! What the leg tells.

use crate::repetition::rest::RestMoved;
use crate::result::{AlignmentReport, Repetition};
use crate::strap::StrapMoved;

/// What the leg told.
#[derive(Debug, Clone, PartialEq)]
pub enum LimbEvent {
    /// The leg at one sample of the shank sensor.
    Angle(LimbAngle),
    /// The sensor's place on the shank is known now (or known better).
    Aligned(AlignmentReport),
    /// An alignment was tried and refused; the text says why and what to do.
    AlignmentRefused {
        /// When, s.
        time_s: f64,
        /// Why, and what to do.
        reason: String,
    },
    /// The strap has moved on the shank.
    StrapMoved(StrapMoved),
    /// The limb rests somewhere else than before: the strap slipped, or the person turned.
    RestMoved(RestMoved),
    /// The shank was lifted: this leg is in the hands.
    Raised {
        /// When, s.
        time_s: f64,
    },
    /// The leg was laid down: done with it.
    LaidDown {
        /// When, s.
        time_s: f64,
    },
    /// An end range was captured (the moment of the tone), with its live value.
    Captured {
        /// Counts the repetitions of this leg from 0, through all phases.
        number: usize,
        /// The repetition with its live value.
        repetition: Repetition,
    },
    /// The live value of a captured repetition was put right when the limb had left its end; at most
    /// once each.
    Refined {
        /// Which one.
        number: usize,
        /// The repetition with its refined live value.
        repetition: Repetition,
    },
}

/// The leg at one sample. Angles in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbAngle {
    /// Visit time, s.
    pub time_s: f64,
    /// The angle that the test measures: hip rotation, internal positive, or knee flexion; `None` until
    /// aligned.
    pub angle_deg: Option<f64>,
    /// One standard uncertainty of that angle.
    pub uncertainty_deg: Option<f64>,
    /// Knee flexion; `None` until aligned.
    pub knee_flexion_deg: Option<f64>,
    /// Pelvis roll since neutral, positive towards internal rotation; `None` without a pelvis sensor.
    pub pelvis_roll_deg: Option<f64>,
    /// How far the shank has turned in all since the first sample, degrees, standing still left out.
    pub turned_deg: f64,
    /// The upward vertical in the sensor's frame (unit vector): how the shank stands, also before the
    /// sensor's place on it is known.
    pub up: [f64; 3],
    /// Whether the shank is raised.
    pub raised: bool,
    /// Whether the hip angle keeps still.
    pub still: bool,
}

impl LimbAngle {
    /// A sample of a leg that is not aligned yet.
    #[must_use]
    pub const fn unknown(time_s: f64, turned_deg: f64, up: [f64; 3]) -> Self {
        Self {
            time_s,
            angle_deg: None,
            uncertainty_deg: None,
            knee_flexion_deg: None,
            pelvis_roll_deg: None,
            turned_deg,
            up,
            raised: false,
            still: false,
        }
    }
}
