//! Treatment: contract–relax cycles and oscillations.

use endarc_protocol::words::Side;

use super::Planner;
use super::repetition::Going;
use crate::scenario::Treatment;
use crate::seed::Chance;

impl Planner<'_> {
    /// Works at the end range of one direction. Afterwards the leg has its gain.
    pub(super) fn treat(&mut self, step: &Treatment, side: Side, chance: &mut Chance) {
        let going = self.going(side, step.direction, chance);
        let before_deg = self.end_range_deg(side, step.direction);
        if !self.treated.contains(&side) {
            self.treated.push(side);
        }
        let after_deg = self.end_range_deg(side, step.direction);
        if step.cycles > 0 {
            self.cycles(step, going, (before_deg, after_deg), chance);
        }
        if step.oscillate_s > 0.0 {
            self.oscillate(step, going, after_deg, chance);
        }
        self.return_to_neutral(going, chance);
    }

    /// To the end; contract, lengthen, hold; and again from where that ended.
    fn cycles(
        &mut self,
        step: &Treatment,
        going: Going,
        (before_deg, after_deg): (f64, f64),
        chance: &mut Chance,
    ) {
        let mut end_deg = before_deg;
        self.go(going, end_deg, chance.between(2.0, 3.0));
        for cycle in 1..=step.cycles {
            self.now_s += chance.between(1.0, 2.0);
            self.contract(going, end_deg, step.contraction_s, chance);
            let part = f64::from(cycle) / f64::from(step.cycles);
            end_deg = before_deg + (after_deg - before_deg) * part;
            self.go(going, end_deg, step.lengthen_s);
            self.now_s += step.hold_s;
        }
    }

    /// Small rhythmic movements short of the end.
    fn oscillate(&mut self, step: &Treatment, going: Going, end_deg: f64, chance: &mut Chance) {
        let middle_deg = end_deg - step.oscillate_deg - chance.between(1.0, 3.0);
        self.go(going, middle_deg, chance.between(1.0, 2.0));
        let half_s = 30.0 / step.oscillate_per_min;
        let until_s = self.now_s + step.oscillate_s;
        let mut outward = 1.0;
        while self.now_s + half_s <= until_s {
            self.go(going, middle_deg + outward * step.oscillate_deg, half_s);
            outward = -outward;
        }
    }
}
