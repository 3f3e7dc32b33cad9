//! The simulated person and the hands that move them.

use endarc_protocol::words::{Direction, Side};
use serde::Deserialize;

use super::bounds::{maybe_within, within};

/// Mean end range of a leg that the scenario says nothing of: about what a therapist expects by eye
/// (common practice), degrees.
const fn usual_end_range_deg(direction: Direction) -> f64 {
    match direction {
        Direction::Internal => 33.0,
        Direction::External => 43.0,
        Direction::Flexion => 125.0,
    }
}

/// One number per direction, as far as given.
#[derive(Debug, Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct PerDirection {
    #[serde(deserialize_with = "maybe_within::<-60, 90, _>")]
    internal: Option<f64>,
    #[serde(deserialize_with = "maybe_within::<-60, 90, _>")]
    external: Option<f64>,
    #[serde(deserialize_with = "maybe_within::<0, 160, _>")]
    flexion: Option<f64>,
}

/// One number per leg and direction, as far as given.
#[derive(Debug, Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct PerLeg {
    left: PerDirection,
    right: PerDirection,
}

impl PerLeg {
    const fn of(&self, side: Side, direction: Direction) -> Option<f64> {
        let leg = match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        };
        match direction {
            Direction::Internal => leg.internal,
            Direction::External => leg.external,
            Direction::Flexion => leg.flexion,
        }
    }
}

/// The `[body]` table. Keys are described in `scenarios/README.md`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Body {
    end_range_deg: PerLeg,
    gain_deg: PerLeg,
    #[serde(deserialize_with = "within::<0, 10, _>")]
    pub(crate) repetition_sd_deg: f64,
    #[serde(deserialize_with = "within::<60, 120, _>")]
    pub(crate) knee_flexion_deg: f64,
    #[serde(deserialize_with = "within::<0, 20, _>")]
    pub(crate) knee_spread_deg: f64,
    #[serde(deserialize_with = "within::<0, 1, _>")]
    pub(crate) pelvis_roll_per_deg: f64,
    #[serde(deserialize_with = "within::<0, 2, _>")]
    pub(crate) pelvis_tilt_per_deg: f64,
    #[serde(deserialize_with = "within::<0, 10, _>")]
    pub(crate) neutral_sd_deg: f64,
    #[serde(deserialize_with = "within::<-20, 20, _>")]
    pub(crate) table_tilt_deg: f64,
    #[serde(deserialize_with = "within::<-20, 20, _>")]
    pub(crate) thigh_pitch_deg: f64,
    #[serde(deserialize_with = "within::<0, 1, _>")]
    pub(crate) lever_arm_m: f64,
    #[serde(deserialize_with = "within::<0, 3, _>")]
    pub(crate) tremor_deg: f64,
    #[serde(deserialize_with = "within::<1, 15, _>")]
    pub(crate) tremor_hz: f64,
    #[serde(deserialize_with = "within::<0, 3, _>")]
    pub(crate) breathing_deg: f64,
}

impl Body {
    /// Mean end range along its direction, degrees.
    pub(crate) fn end_range_deg(&self, side: Side, direction: Direction) -> f64 {
        self.end_range_deg.of(side, direction).unwrap_or_else(|| usual_end_range_deg(direction))
    }

    /// What a treated leg gains, degrees.
    pub(crate) fn gain_deg(&self, side: Side, direction: Direction) -> f64 {
        self.gain_deg.of(side, direction).unwrap_or(0.0)
    }
}

impl Default for Body {
    fn default() -> Self {
        Self {
            end_range_deg: PerLeg::default(),
            gain_deg: PerLeg::default(),
            repetition_sd_deg: 1.2,
            knee_flexion_deg: 90.0,
            knee_spread_deg: 5.0,
            pelvis_roll_per_deg: 0.0,
            pelvis_tilt_per_deg: 0.3,
            neutral_sd_deg: 0.5,
            table_tilt_deg: 0.0,
            thigh_pitch_deg: 0.0,
            lever_arm_m: 0.22,
            tremor_deg: 0.25,
            tremor_hz: 6.0,
            breathing_deg: 0.2,
        }
    }
}
