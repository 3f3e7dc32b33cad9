//! What really happened: what any estimate is compared with.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use serde::{Serialize, Serializer};

use crate::scenario::Style;

/// One repetition as the body did it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TruthRepetition {
    /// Which leg.
    pub side: Side,
    /// Before or after treatment.
    pub phase: Phase,
    /// Which way the hip turned.
    pub direction: Direction,
    /// How the end was reached.
    pub style: Style,
    /// Hip rotation on arrival at the last hold (or at the turning point), degrees along the
    /// direction: shank angle minus pelvis roll, without tremor. The table's tilt is not in it. For
    /// flexion: knee flexion at which the pelvis began to tilt.
    #[serde(serialize_with = "thousandths")]
    pub end_range_deg: f64,
    /// Pelvis roll there, degrees; positive the way the shank moved. For flexion: its forward tilt
    /// at the deepest flexion.
    #[serde(serialize_with = "thousandths")]
    pub pelvis_roll_deg: f64,
    /// When the last hold began (or the limb turned), s of visit time.
    #[serde(serialize_with = "thousandths")]
    pub hold_start_s: f64,
    /// How long it was held; 0 for a touch.
    #[serde(serialize_with = "thousandths")]
    pub hold_s: f64,
    /// When the limb left neutral or the other end, s of visit time.
    #[serde(serialize_with = "thousandths")]
    pub start_s: f64,
    /// When the limb first stood at an end or turned, s of visit time: before the last hold where it
    /// was pushed further. For checks within the project; it is not in the file.
    #[serde(skip)]
    pub first_end_s: f64,
    /// When the limb left its end for good, s of visit time; likewise.
    #[serde(skip)]
    pub left_s: f64,
    /// Knee flexion at the middle of the hold, degrees.
    #[serde(serialize_with = "thousandths")]
    pub knee_flexion_deg: f64,
    /// Where the limb stood before the person pushed against the hand, degrees along the direction.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_barrier_deg: Option<f64>,
    /// When the therapist marked it, s of visit time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_s: Option<f64>,
}

/// A strap that slipped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TruthSlip {
    /// Of which leg.
    pub side: Side,
    /// When it began to slip, s of visit time; it takes 0.4 s.
    #[serde(serialize_with = "thousandths")]
    pub at_s: f64,
    /// Turn about the shank's long axis (from ankle to knee), degrees, right-handed.
    pub along_deg: f64,
    /// Then about the shank's forward axis, degrees.
    pub across_deg: f64,
    /// Then about the knee's flexion axis (to the person's left), degrees.
    pub about_deg: f64,
}

/// Everything that really happened in a session; as JSON, the `truth.json` of a session's folder.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// The leg, where only one is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// The invented person's code.
    pub person: String,
    /// What was measured.
    pub test: TestKind,
    /// The seed that everything came from.
    pub seed: u64,
    /// Samples per second.
    pub rate_hz: f64,
    /// Every repetition of baseline and retest, in order of time.
    pub repetitions: Vec<TruthRepetition>,
    /// Every slip of a strap, in order of time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub strap_slips: Vec<TruthSlip>,
    /// Whether the sensor meant for the left shank was worn on the right one, and the other way
    /// round.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub exchanged: bool,
}

impl Truth {
    /// The same, on a clock on which the visit began so much later, s.
    #[must_use]
    pub fn later(mut self, by_s: f64) -> Self {
        for one in &mut self.repetitions {
            for time_s in
                [&mut one.start_s, &mut one.first_end_s, &mut one.hold_start_s, &mut one.left_s]
            {
                *time_s += by_s;
            }
            one.marked_s = one.marked_s.map(|marked_s| marked_s + by_s);
        }
        for slip in &mut self.strap_slips {
            slip.at_s += by_s;
        }
        self
    }
}

/// Writes a number to three decimals: finer than anything that is measured.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn thousandths<S: Serializer>(value: &f64, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_f64(libm::round(value * 1e3) / 1e3)
}
