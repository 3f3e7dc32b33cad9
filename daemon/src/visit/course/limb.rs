//! What the limb leads through: preparing, measuring, lying flat.

use endarc_analysis::limb::LimbAngle;
use endarc_protocol::words::{Side, TestKind, TrialType};

use super::prepare::{Prepare, Prepared};
use super::targets::Counted;
use super::{Act, Course, Passed, Step, strings};

/// So long no leg may be in the hands before what is complete is taken for done, s.
const DOWN_S: f64 = 1.0;

impl Course {
    /// Takes a leg at one sample.
    pub(in crate::visit) fn limb(&mut self, side: Side, angle: &LimbAngle) -> Vec<Act> {
        let mut acts = Vec::new();
        let [left, right] = &mut self.raised;
        match side {
            Side::Left => *left = angle.raised,
            Side::Right => *right = angle.raised,
        }
        self.touched |= self.step == Step::Treatment && angle.raised;
        if self.awaited == Some(side) {
            if angle.knee_flexion_deg.is_some() {
                self.judge_hold(angle, &mut acts);
            }
            return acts;
        }
        if self.by_limb()
            && let Some(prepare) = &mut self.prepare
            && let Some(prepared) = prepare.push(side, angle)
        {
            self.prepared(prepared, angle.time_s, &mut acts);
        }
        acts
    }

    /// Lets time go by.
    pub(in crate::visit) fn time(&mut self, now_s: f64, counted: impl Counted) -> Vec<Act> {
        let mut acts = Vec::new();
        match self.step {
            Step::Settle if self.flat.push(self.in_hands(), now_s) <= 0.0 => {
                self.pass(Passed::Done, &mut acts);
            }
            Step::Baseline | Step::Retest if self.in_hands() => self.down_since_s = None,
            Step::Baseline | Step::Retest if !self.again && self.is_complete(&counted) => {
                let since_s = *self.down_since_s.get_or_insert(now_s);
                if now_s - since_s >= DOWN_S {
                    self.pass(Passed::Done, &mut acts);
                }
            }
            _ => {}
        }
        acts
    }

    /// A leg's alignment was refused: its knee is bent once more.
    pub(in crate::visit) fn refused(&mut self, side: Side) -> Vec<Act> {
        let mut acts = Vec::new();
        if self.step.prepares() == Some(side) {
            self.enter(self.step, &mut acts);
        }
        acts
    }

    /// The neutral hold is over: the leg is aligned, or refused, by what was recorded.
    pub(super) fn end_hold(&mut self, acts: &mut Vec<Act>) {
        self.awaited = self.step.prepares();
        acts.push(Act::EndSpans);
    }

    fn is_complete(&self, counted: &impl Counted) -> bool {
        self.targets.wanted().next().is_some() && self.targets.left(counted) == 0
    }

    /// Whether the leg is prepared by what the limb does: prone, where it lies flat in between.
    pub(super) fn by_limb(&self) -> bool {
        matches!(
            self.test,
            TestKind::ProneHipRotation | TestKind::ProneBothHipsRotation | TestKind::ProneKneeBend
        )
    }

    fn prepared(&mut self, prepared: Prepared, now_s: f64, acts: &mut Vec<Act>) {
        let side = self.step.prepares();
        match prepared {
            Prepared::Begin(trial_type) => {
                self.neutral = trial_type == TrialType::Neutral;
                acts.extend([Act::EndSpans, Act::Begin(trial_type, side)]);
            }
            Prepared::End if self.prepare.as_ref().is_some_and(|prepare| prepare.held(now_s)) => {
                self.end_hold(acts);
            }
            Prepared::End => {
                self.neutral = false;
                acts.push(Act::EndSpans);
            }
            Prepared::OtherMoves => acts.push(Act::EndSpans),
        }
    }

    /// The leg is aligned: was it held upright, or did it lie?
    fn judge_hold(&mut self, angle: &LimbAngle, acts: &mut Vec<Act>) {
        if !self.by_limb() || Prepare::is_upright(angle.knee_flexion_deg) {
            self.pass(Passed::Done, acts);
        } else {
            acts.push(Act::Say(strings::LAY.to_owned()));
            let lying = self.prepare.as_ref().map(|prepare| prepare.lifted_from_lying(angle));
            self.enter(self.step, acts);
            self.prepare = lying;
        }
    }
}
