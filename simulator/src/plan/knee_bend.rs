//! The prone knee bend: from the flat leg until the pelvis tilts, a little further, and back.

use endarc_protocol::words::{Direction, Phase, Side};

use super::Planner;
use crate::scenario::Style;
use crate::seed::Chance;
use crate::truth::TruthRepetition;

/// Mean speed on the way, degrees per second.
const SPEED_DEG_S: (f64, f64) = (20.0, 40.0);
/// How far the knee is bent after the pelvis began to tilt, degrees.
const FURTHER_DEG: (f64, f64) = (5.0, 20.0);
/// No thigh is taut earlier than this, degrees: a leg that lies flat does not tilt the pelvis.
const LEAST_ONSET_DEG: f64 = 20.0;

impl Planner<'_> {
    /// One bend of the knee.
    pub(super) fn knee_bend(
        &mut self,
        side: Side,
        (phase, style): (Phase, Style),
        chance: &mut Chance,
    ) -> TruthRepetition {
        let spread_deg = chance.within_two_sd(self.scenario.body.repetition_sd_deg);
        let onset_deg =
            (self.end_range_deg(side, Direction::Flexion) + spread_deg).max(LEAST_ONSET_DEG);
        let deepest_deg = onset_deg + chance.between(FURTHER_DEG.0, FURTHER_DEG.1);
        let way_deg = deepest_deg - self.limb(side).rest().knee_deg;
        let start_s = self.now_s;
        let out_s = way_deg / chance.between(SPEED_DEG_S.0, SPEED_DEG_S.1);
        let rotation_deg = chance.between(-1.5, 1.5);
        let limb = self.limb(side);
        limb.tilt_from(start_s, onset_deg);
        limb.hold(start_s, (out_s / 4.0).min(1.0));
        limb.bend(deepest_deg, start_s, out_s);
        limb.turn(rotation_deg, 0.0, start_s, out_s);

        let hold_start_s = start_s + out_s;
        let hold_s = if style == Style::Touch { 0.0 } else { chance.between(0.8, 1.3) };
        let back_s = way_deg / chance.between(SPEED_DEG_S.0, SPEED_DEG_S.1);
        self.limb(side).lay_down(hold_start_s + hold_s, back_s);
        self.now_s = hold_start_s + hold_s + back_s + chance.between(0.7, 1.6);
        TruthRepetition {
            side,
            phase,
            direction: Direction::Flexion,
            style,
            end_range_deg: onset_deg,
            pelvis_roll_deg: self.scenario.body.pelvis_tilt_per_deg * (deepest_deg - onset_deg),
            hold_start_s,
            hold_s,
            start_s,
            first_end_s: hold_start_s,
            left_s: hold_start_s + hold_s,
            knee_flexion_deg: deepest_deg,
            start_barrier_deg: None,
            marked_s: None,
        }
    }

    /// From now on, the leg lying flat, the pelvis tilts where this leg on average does it.
    pub(super) fn settle_onset(&mut self, side: Side) {
        let onset_deg = self.end_range_deg(side, Direction::Flexion).max(LEAST_ONSET_DEG);
        let now_s = self.now_s;
        self.limb(side).tilt_from(now_s, onset_deg);
    }
}
