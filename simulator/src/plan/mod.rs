//! From script to movement: when which joint goes where.
//!
//! One leg is worked at a time. It stays up until the other is lifted or it is told to rest, and
//! lies flat and still otherwise.

mod limb;
mod repetition;
#[cfg(test)]
mod tests;
mod treatment;

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{Phase, Side, TrialType};

use crate::motion::Motion;
use crate::scenario::{AlignKnee, Begins, Measure, Neutral, Rest, Scenario, Step, Style};
use crate::seed::Chance;
use crate::truth::{Truth, TruthRepetition};
use limb::Limb;

/// Stillness before the first movement and after the last, s.
const QUIET_S: (f64, f64) = (2.0, 3.0);
/// How far "straight" falls short of lying flat when the knee is moved for alignment, degrees.
const STRAIGHTENED_DEG: (f64, f64) = (10.0, 20.0);

/// What a scenario amounts to.
#[derive(Debug)]
pub(crate) struct Plan {
    pub(crate) motion: Motion,
    pub(crate) events: Vec<Event>,
    pub(crate) truth: Truth,
    pub(crate) duration_s: f64,
}

impl Plan {
    /// Walks through the script.
    pub(crate) fn new(scenario: &Scenario) -> Self {
        let mut planner = Planner::new(scenario);
        for (place, step) in scenario.script.iter().enumerate() {
            if let Step::Rest(rest) = step {
                planner.rest(rest, &mut Chance::new(scenario.seed, &format!("step/{place}")));
                continue;
            }
            let sides = step.side().map_or_else(|| scenario.legs(), |side| vec![side]);
            for side in sides {
                planner.work(&format!("step/{place}/{side}"), step, side);
            }
        }
        planner.finish()
    }
}

struct Planner<'a> {
    scenario: &'a Scenario,
    now_s: f64,
    left: Limb,
    right: Limb,
    raised: Option<Side>,
    treated: Vec<Side>,
    events: Vec<Event>,
    repetitions: Vec<TruthRepetition>,
}

impl<'a> Planner<'a> {
    fn new(scenario: &'a Scenario) -> Self {
        let limb = |side| Limb::lying(&mut Chance::new(scenario.seed, &format!("lying/{side}")));
        Self {
            scenario,
            now_s: QUIET_S.0,
            left: limb(Side::Left),
            right: limb(Side::Right),
            raised: None,
            treated: Vec::new(),
            events: Vec::new(),
            repetitions: Vec::new(),
        }
    }

    /// One step on one leg.
    fn work(&mut self, name: &str, step: &Step, side: Side) {
        let chance = &mut Chance::new(self.scenario.seed, name);
        match step {
            Step::Neutral(step) => self.neutral(step, side, chance),
            Step::AlignKnee(step) => self.align_knee(step, side, chance),
            Step::Baseline(step) => self.measure(name, Phase::Baseline, step, side, chance),
            Step::Retest(step) => self.measure(name, Phase::Retest, step, side, chance),
            Step::Treatment(step) => {
                self.ensure_raised(side, chance);
                let onset_s = self.now_s;
                self.treat(step, side, chance);
                self.mark(TrialType::Treatment, side, onset_s);
            }
            Step::Rest(step) => self.rest(step, chance),
        }
    }

    fn rest(&mut self, step: &Rest, chance: &mut Chance) {
        self.lay_down(chance);
        self.now_s += step.duration_s;
    }

    fn neutral(&mut self, step: &Neutral, side: Side, chance: &mut Chance) {
        self.ensure_raised(side, chance);
        let onset_s = self.now_s;
        self.now_s += step.hold_s;
        self.mark(TrialType::Neutral, side, onset_s);
        self.now_s += chance.between(0.3, 0.7);
    }

    fn align_knee(&mut self, step: &AlignKnee, side: Side, chance: &mut Chance) {
        match step.begins {
            Begins::Bending => self.lay_down(chance),
            Begins::Straightening => self.ensure_raised(side, chance),
        }
        let onset_s = self.now_s;
        for time in 0..step.times {
            if step.begins == Begins::Straightening || time > 0 {
                let knee_deg = chance.between(STRAIGHTENED_DEG.0, STRAIGHTENED_DEG.1);
                self.swing_knee(side, knee_deg, chance);
            }
            let knee_deg = self.scenario.body.knee_flexion_deg + chance.between(-3.0, 3.0);
            self.swing_knee(side, knee_deg, chance);
        }
        self.raised = Some(side);
        self.mark(TrialType::AlignKnee, side, onset_s);
        self.now_s += chance.between(0.5, 1.0);
    }

    /// One bend or one straightening and the pause after it. The hip is not quite still.
    fn swing_knee(&mut self, side: Side, knee_deg: f64, chance: &mut Chance) {
        let (start_s, duration_s) = (self.now_s, chance.between(1.2, 1.7));
        let rotation_deg = chance.between(-1.5, 1.5);
        let limb = self.limb(side);
        limb.hold(start_s, duration_s / 2.0);
        limb.bend(knee_deg, start_s, duration_s);
        limb.turn(rotation_deg, 0.0, start_s, duration_s);
        self.now_s += duration_s + chance.between(0.3, 0.6);
    }

    fn measure(
        &mut self,
        name: &str,
        phase: Phase,
        step: &Measure,
        side: Side,
        chance: &mut Chance,
    ) {
        self.ensure_raised(side, chance);
        let onset_s = self.now_s;
        let all = step.repetitions();
        for (place, (direction, style)) in all.iter().enumerate() {
            let onward = *style == Style::Through && place + 1 < all.len();
            let mut chance = Chance::new(self.scenario.seed, &format!("{name}/{place}"));
            let one = self.repetition(side, (phase, *direction, *style), onward, &mut chance);
            self.repetitions.push(one);
        }
        let trial_type = match phase {
            Phase::Baseline => TrialType::Baseline,
            Phase::Treatment => TrialType::Treatment,
            Phase::Retest => TrialType::Retest,
        };
        self.mark(trial_type, side, onset_s);
    }

    /// Lifts the foot of a leg, after laying the other one down.
    fn ensure_raised(&mut self, side: Side, chance: &mut Chance) {
        if self.raised == Some(side) {
            return;
        }
        self.lay_down(chance);
        let (start_s, duration_s) = (self.now_s, chance.between(1.6, 2.2));
        let knee_deg = self.scenario.body.knee_flexion_deg + chance.between(-3.0, 3.0);
        let rotation_deg = chance.between(-1.5, 1.5);
        let limb = self.limb(side);
        limb.hold(start_s, duration_s / 2.0);
        limb.bend(knee_deg, start_s, duration_s);
        limb.turn(rotation_deg, 0.0, start_s, duration_s);
        self.raised = Some(side);
        self.now_s += duration_s + chance.between(0.8, 1.2);
    }

    /// Lays down the leg that is up, if one is.
    fn lay_down(&mut self, chance: &mut Chance) {
        let Some(raised) = self.raised.take() else {
            return;
        };
        let (start_s, duration_s) = (self.now_s, chance.between(1.7, 2.3));
        self.limb(raised).lay_down(start_s, duration_s);
        self.now_s += duration_s + chance.between(1.0, 1.5);
    }

    fn mark(&mut self, trial_type: TrialType, side: Side, onset_s: f64) {
        self.events.push(Event {
            onset_s,
            duration_s: self.now_s - onset_s,
            trial_type,
            side: Some(side),
        });
    }

    const fn limb(&mut self, side: Side) -> &mut Limb {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }

    fn finish(mut self) -> Plan {
        let scenario = self.scenario;
        let mut chance = Chance::new(scenario.seed, "finish");
        self.lay_down(&mut chance);
        let (left, right) = (self.left.into_course(), self.right.into_course());
        let motion = Motion::new(left, right, &scenario.body, scenario.seed);
        for one in &mut self.repetitions {
            let middle_s = one.hold_start_s + one.hold_s / 2.0;
            one.knee_flexion_deg = motion.knee_flexion_deg(one.side, middle_s);
        }
        let legs = scenario.legs();
        Plan {
            motion,
            events: self.events,
            truth: Truth {
                side: legs.first().copied().filter(|_| legs.len() == 1),
                person: scenario.person.clone(),
                seed: scenario.seed,
                rate_hz: scenario.rate_hz,
                repetitions: self.repetitions,
            },
            duration_s: self.now_s + QUIET_S.1,
        }
    }
}
