//! From script to movement: when which joint goes where.
//!
//! One leg is worked at a time, or both at once where the test says so. It stays up until the other
//! is lifted or it is told to rest, and lies flat (or hangs) and still otherwise.

mod alignment;
mod both_hips;
mod faults;
mod knee_bend;
mod limb;
#[cfg(test)]
mod position_tests;
mod raising;
mod repetition;
#[cfg(test)]
mod tests;
mod treatment;

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{Phase, Side, TestKind, TrialType};

use crate::motion::Motion;
use crate::motion::posture::Posture;
use crate::scenario::{Measure, Neutral, Rest, Scenario, Step, Style};
use crate::seed::Chance;
use crate::truth::{Truth, TruthRepetition, TruthSlip};
use limb::Limb;

/// Stillness before the first movement and after the last, s.
const QUIET_S: (f64, f64) = (2.0, 3.0);

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
            if let Some((phase, measure)) = step.measure()
                && scenario.test == TestKind::ProneBothHipsRotation
            {
                planner.measure_both(&format!("step/{place}"), phase, measure);
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
    raised: Vec<Side>,
    treated: Vec<Side>,
    events: Vec<Event>,
    repetitions: Vec<TruthRepetition>,
    slips: Vec<TruthSlip>,
}

impl<'a> Planner<'a> {
    fn new(scenario: &'a Scenario) -> Self {
        let posture = Posture::of(scenario.test);
        let limb = |side| {
            Limb::resting(posture, &mut Chance::new(scenario.seed, &format!("lying/{side}")))
        };
        let mut planner = Self {
            scenario,
            now_s: 0.0,
            left: limb(Side::Left),
            right: limb(Side::Right),
            raised: Vec::new(),
            treated: Vec::new(),
            events: Vec::new(),
            repetitions: Vec::new(),
            slips: Vec::new(),
        };
        if scenario.test == TestKind::ProneKneeBend {
            Side::ALL.iter().for_each(|side| planner.settle_onset(*side));
        }
        planner.now_s = QUIET_S.0;
        planner
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
                self.ensure_raised(&[side], chance);
                let onset_s = self.now_s;
                self.treat(step, side, chance);
                self.mark(TrialType::Treatment, Some(side), onset_s);
            }
            Step::Rest(step) => self.rest(step, chance),
            Step::Strap(step) => self.slip(step, side, chance),
            Step::FootDown(step) => self.foot_down(step, side, chance),
        }
    }

    fn rest(&mut self, step: &Rest, chance: &mut Chance) {
        self.lay_down(&[], chance);
        self.now_s += step.duration_s;
    }

    fn neutral(&mut self, step: &Neutral, side: Side, chance: &mut Chance) {
        self.ensure_raised(&[side], chance);
        let onset_s = self.now_s;
        self.now_s += step.hold_s;
        self.mark(TrialType::Neutral, Some(side), onset_s);
        self.now_s += chance.between(0.3, 0.7);
    }

    fn measure(
        &mut self,
        name: &str,
        phase: Phase,
        step: &Measure,
        side: Side,
        chance: &mut Chance,
    ) {
        let bends = self.scenario.test == TestKind::ProneKneeBend;
        if bends {
            self.lay_down(&[], chance);
        } else {
            self.ensure_raised(&[side], chance);
        }
        let onset_s = self.now_s;
        let all = step.repetitions();
        for (place, (direction, style)) in all.iter().enumerate() {
            let onward = *style == Style::Through && place + 1 < all.len();
            let mut chance = Chance::new(self.scenario.seed, &format!("{name}/{place}"));
            if *style == Style::Wander {
                self.wander(side, *direction, &mut chance);
                continue;
            }
            let one = if bends {
                self.knee_bend(side, (phase, *style), &mut chance)
            } else {
                self.repetition(side, (phase, *direction, *style), onward, &mut chance)
            };
            self.repetitions.push(one);
        }
        self.mark(trial_type(phase), Some(side), onset_s);
    }

    fn mark(&mut self, trial_type: TrialType, side: Option<Side>, onset_s: f64) {
        let duration_s = self.now_s - onset_s;
        self.events.push(Event { onset_s, duration_s, trial_type, side });
    }

    const fn posture(&self) -> Posture {
        Posture::of(self.scenario.test)
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
        self.lay_down(&[], &mut chance);
        let (left, right) = (self.left.into_course(), self.right.into_course());
        let posture = Posture::of(scenario.test);
        let motion = Motion::new(posture, left, right, &scenario.body, scenario.seed);
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
                test: scenario.test,
                seed: scenario.seed,
                rate_hz: scenario.rate_hz,
                repetitions: self.repetitions,
                strap_slips: self.slips,
                exchanged: scenario.exchanged,
            },
            duration_s: self.now_s + QUIET_S.1,
        }
    }
}

const fn trial_type(phase: Phase) -> TrialType {
    match phase {
        Phase::Baseline => TrialType::Baseline,
        Phase::Treatment => TrialType::Treatment,
        Phase::Retest => TrialType::Retest,
    }
}
