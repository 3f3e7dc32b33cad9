//! The simulated person and the hands that move them.

use endarc_protocol::words::{Direction, Side};
use serde::Deserialize;

use super::bounds::within;

/// One number per direction.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PerDirection {
    #[serde(deserialize_with = "within::<-60, 90, _>")]
    internal: f64,
    #[serde(deserialize_with = "within::<-60, 90, _>")]
    external: f64,
}

impl PerDirection {
    pub(crate) const fn of(&self, direction: Direction) -> f64 {
        match direction {
            Direction::Internal => self.internal,
            Direction::External => self.external,
        }
    }
}

/// One number per leg and direction.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct PerLeg {
    left: PerDirection,
    right: PerDirection,
}

impl PerLeg {
    pub(crate) const fn of(&self, side: Side) -> &PerDirection {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    const fn both(internal: f64, external: f64) -> Self {
        let one = PerDirection { internal, external };
        Self { left: one, right: one }
    }
}

/// What the end ranges are when the scenario says nothing: about what a therapist expects by eye
/// (common practice).
impl Default for PerLeg {
    fn default() -> Self {
        Self::both(33.0, 43.0)
    }
}

/// The `[body]` table. Keys are described in `scenarios/README.md`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Body {
    pub(crate) end_range_deg: PerLeg,
    #[serde(default = "no_gain")]
    pub(crate) gain_deg: PerLeg,
    #[serde(deserialize_with = "within::<0, 10, _>")]
    pub(crate) repetition_sd_deg: f64,
    #[serde(deserialize_with = "within::<60, 120, _>")]
    pub(crate) knee_flexion_deg: f64,
    #[serde(deserialize_with = "within::<0, 20, _>")]
    pub(crate) knee_spread_deg: f64,
    #[serde(deserialize_with = "within::<0, 1, _>")]
    pub(crate) pelvis_roll_per_deg: f64,
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

fn no_gain() -> PerLeg {
    PerLeg::both(0.0, 0.0)
}

impl Default for Body {
    fn default() -> Self {
        Self {
            end_range_deg: PerLeg::default(),
            gain_deg: no_gain(),
            repetition_sd_deg: 1.2,
            knee_flexion_deg: 90.0,
            knee_spread_deg: 5.0,
            pelvis_roll_per_deg: 0.0,
            table_tilt_deg: 0.0,
            thigh_pitch_deg: 0.0,
            lever_arm_m: 0.22,
            tremor_deg: 0.25,
            tremor_hz: 6.0,
            breathing_deg: 0.2,
        }
    }
}
