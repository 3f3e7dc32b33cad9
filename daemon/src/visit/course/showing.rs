//! The course as a viewer is shown it.

use super::targets::Counted;
use super::{Answer, Course, Passed, Step, Way, strings};
use crate::live::{LiveCourse, LiveStep, LiveTarget, StepState};

impl Course {
    /// What is to be done now, one line.
    pub(in crate::visit) fn prompt(&self, counted: impl Counted + Copy, now_s: f64) -> String {
        if self.withdrawn {
            return strings::WITHDRAWN.to_owned();
        }
        match self.step {
            Step::Sensors => strings::SENSORS.to_owned(),
            Step::PrepareRight | Step::PrepareLeft => self.prepare_prompt(),
            Step::Baseline | Step::Retest => self.measure_prompt(counted),
            Step::Treatment => {
                self.plan().map_or_else(String::new, |plan| strings::treat(plan.primary.side))
            }
            Step::Settle => strings::flat(self.flat.left_s(now_s)),
            Step::Summary => strings::SUMMARY.to_owned(),
            _ => strings::ON_THE_PAGE.to_owned(),
        }
    }

    /// As a viewer is shown it.
    pub(in crate::visit) fn live(&self, counted: impl Counted + Copy, now_s: f64) -> LiveCourse {
        let next = self.step.measures().and_then(|_| self.targets.next(counted));
        let target = |(way, wanted): (Way, usize)| LiveTarget {
            side: way.side,
            direction: way.direction,
            kept: counted(way.side, way.direction),
            wanted,
            next: next == Some(way),
        };
        let measuring = self.step.measures().is_some();
        LiveCourse {
            step: self.step,
            asked: self.step.is_asked(),
            steps: Step::ALL
                .iter()
                .filter(|step| self.applies(**step))
                .map(|&s| self.shown(s))
                .collect(),
            targets: if measuring {
                self.targets.wanted().map(target).collect()
            } else {
                Vec::new()
            },
            flat_left_s: (self.step == Step::Settle).then(|| self.flat.left_s(now_s)),
            revision: self.revision,
            rater: self.answers.iter().rev().find_map(|answer| match answer {
                Answer::Rater(rater) => Some(rater.code.clone()),
                _ => None,
            }),
            answers: self.answers.clone(),
            known: self.known.clone(),
        }
    }

    fn shown(&self, step: Step) -> LiveStep {
        let passed = self.passed.iter().find(|(passed, _)| *passed == step);
        let (state, reason) = match passed {
            _ if step == self.step => (StepState::Now, None),
            Some((_, Passed::Done)) => (StepState::Done, None),
            Some((_, Passed::LeftOut(reason))) => (StepState::LeftOut, Some(reason.clone())),
            None => (StepState::Ahead, None),
        };
        LiveStep { step, state, reason }
    }

    fn prepare_prompt(&self) -> String {
        let Some((prepare, side)) = self.prepare.as_ref().zip(self.step.prepares()) else {
            return String::new();
        };
        if prepare.holds() || self.neutral {
            return strings::UPRIGHT.to_owned();
        }
        let (done, wanted) = prepare.bends();
        strings::bend(side, done, wanted)
    }

    fn measure_prompt(&self, counted: impl Counted + Copy) -> String {
        let left = self.targets.left(counted);
        if left == 0 {
            return strings::ENOUGH.to_owned();
        }
        match self.targets.next(counted) {
            Some(way) => strings::measure_this(way.side, way.direction, left),
            None => strings::measure(self.step == Step::Retest, left),
        }
    }
}
