//! Both hips at once: the feet fall outward by their own weight and are lifted back.

use endarc_protocol::words::{Direction, Phase, Side};

use super::{Planner, trial_type};
use crate::scenario::{Measure, Style};
use crate::seed::Chance;
use crate::truth::TruthRepetition;

/// How long the feet fall, s.
const FALL_S: (f64, f64) = (1.0, 1.7);
/// How much later one foot may begin to fall than the other, s.
const LAG_S: f64 = 0.15;
/// How long they are left there, s.
const HOLD_S: (f64, f64) = (2.0, 4.0);
/// How much of the hands' unrest is left in a leg that leans on its own weight.
const LEANING_UNREST: f64 = 0.3;

impl Planner<'_> {
    /// Every repetition of a step. The pelvis is balanced: it does not roll.
    pub(super) fn measure_both(&mut self, name: &str, phase: Phase, step: &Measure) {
        self.ensure_raised(Side::ALL, &mut Chance::new(self.scenario.seed, name));
        let onset_s = self.now_s;
        for place in 0..step.repetitions {
            let mut chance = Chance::new(self.scenario.seed, &format!("{name}/{place}"));
            self.let_fall(phase, &mut chance);
        }
        self.mark(trial_type(phase), None, onset_s);
    }

    fn let_fall(&mut self, phase: Phase, chance: &mut Chance) {
        let mut falls = Vec::new();
        for side in Side::ALL {
            falls.push(self.fall(*side, phase, chance));
        }
        let arrived_s = falls.iter().map(|one| one.hold_start_s).fold(self.now_s, f64::max);
        self.now_s = arrived_s + chance.between(HOLD_S.0, HOLD_S.1);
        let back_s = chance.between(1.6, 2.4);
        for mut one in falls {
            one.hold_s = self.now_s - one.hold_start_s;
            let (start_s, rotation_deg) = (self.now_s, chance.between(-1.5, 1.5));
            let limb = self.limb(one.side);
            limb.hold(start_s, back_s / 4.0);
            limb.turn(rotation_deg, 0.0, start_s, back_s);
            if self.scenario.legs().contains(&one.side) {
                self.repetitions.push(one);
            }
        }
        self.now_s += back_s + chance.between(0.7, 1.6);
    }

    /// One foot on its way out; how long it stays there shows later.
    fn fall(&mut self, side: Side, phase: Phase, chance: &mut Chance) -> TruthRepetition {
        let body = &self.scenario.body;
        let end_range_deg = self.end_range_deg(side, Direction::Internal)
            + chance.within_two_sd(body.repetition_sd_deg);
        let knee_deg = body.knee_flexion_deg + chance.within_two_sd(body.knee_spread_deg / 2.0);
        let start_s = self.now_s + chance.between(0.0, LAG_S);
        let fall_s = chance.between(FALL_S.0, FALL_S.1);
        let limb = self.limb(side);
        limb.steady(LEANING_UNREST, start_s, fall_s);
        limb.bend(knee_deg, start_s, fall_s);
        limb.turn(end_range_deg, 0.0, start_s, fall_s);
        TruthRepetition {
            side,
            phase,
            direction: Direction::Internal,
            style: Style::Held,
            end_range_deg,
            pelvis_roll_deg: 0.0,
            hold_start_s: start_s + fall_s,
            hold_s: 0.0,
            start_s,
            first_end_s: start_s + fall_s,
            left_s: start_s + fall_s,
            knee_flexion_deg: knee_deg,
            start_barrier_deg: None,
            marked_s: None,
        }
    }
}
