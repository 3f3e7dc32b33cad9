//! The course of a guided visit: which step it is at, what was answered, and what comes next.
//!
//! Answers given on the page lead through the first steps, limb and pedal through the others. Any step
//! can be left out with a reason or done again. Nothing here judges an answer: it asks, and keeps.

pub mod answer;
pub mod cautions;
mod check;
mod flat;
mod known;
mod limb;
mod prepare;
pub mod records;
mod showing;
mod step;
pub mod strings;
mod targets;
#[cfg(test)]
mod tests;

use endarc_protocol::words::{Direction, Side, TestKind, TrialType};

pub use answer::{Answer, Way};
pub use known::{BrokenOff, Known};
pub use step::Step;

use answer::{Again, Person, Plan};
use check::check;
use flat::Flat;
use prepare::Prepare;
use targets::Targets;

/// What is to be done about it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Act {
    /// A span begins.
    Begin(TrialType, Option<Side>),
    /// Whatever span is open ends.
    EndSpans,
    /// Something was answered: it is to be kept.
    Answered(Step, Answer),
    /// A line in plain words.
    Say(String),
    /// The visit is over.
    EndSource,
}

/// How a step was passed.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Passed {
    /// Done.
    Done,
    /// Left out, for this reason.
    LeftOut(String),
}

/// The guide.
#[derive(Debug, Clone)]
pub(super) struct Course {
    test: TestKind,
    worn: Vec<Side>,
    /// What the order by chance follows from.
    seed: u64,
    step: Step,
    passed: Vec<(Step, Passed)>,
    /// The newest of each kind that is replaced, all of the others, oldest first.
    answers: Vec<Answer>,
    /// Counts the answers, so that a page knows when to look at them again.
    revision: u32,
    known: Option<Known>,
    targets: Targets,
    warmed_up: Vec<Way>,
    prepare: Option<Prepare>,
    /// The neutral hold of the leg that is prepared has begun.
    neutral: bool,
    /// This leg's alignment is awaited.
    awaited: Option<Side>,
    flat: Flat,
    raised: [bool; 2],
    /// Since when no leg is in the hands, s.
    down_since_s: Option<f64>,
    /// A leg was in the hands since treatment began.
    touched: bool,
    /// The step is done once more, and a key ends it.
    again: bool,
    withdrawn: bool,
}

impl Course {
    pub(super) fn new(test: TestKind, worn: &[Side], visit: &str) -> Self {
        Self {
            test,
            worn: worn.to_vec(),
            seed: visit
                .bytes()
                .fold(0, |sum: u64, byte| sum.wrapping_mul(31).wrapping_add(u64::from(byte))),
            step: Step::Person,
            passed: Vec::new(),
            answers: Vec::new(),
            revision: 0,
            known: None,
            targets: Targets::default(),
            warmed_up: Vec::new(),
            prepare: None,
            neutral: false,
            awaited: None,
            flat: Flat::default(),
            raised: [false; 2],
            down_since_s: None,
            touched: false,
            again: false,
            withdrawn: false,
        }
    }

    /// What is known of the person, from earlier visits.
    pub(super) fn know(&mut self, known: Option<Known>) {
        self.known = known;
        self.revision += 1;
    }

    /// Takes the course of a visit up that broke off: what was answered holds, the sensors are
    /// prepared anew.
    pub(super) fn take_up(&mut self, broken_off: &BrokenOff, now_s: f64) -> Vec<Act> {
        let mut acts = Vec::new();
        for (step, answer) in &broken_off.answers {
            let asked = answer.step().is_some_and(Step::is_asked);
            let left_out = matches!(answer, Answer::Skip(_)) && step.is_asked();
            if (asked || left_out) && *step == self.step {
                acts.extend(self.answer(answer, now_s).unwrap_or_default());
            }
        }
        if !acts.is_empty() {
            acts.push(Act::Say(strings::TAKEN_UP.to_owned()));
        }
        acts
    }

    /// Takes an answer.
    ///
    /// # Errors
    /// A sentence that says why it is not taken.
    pub(super) fn answer(&mut self, answer: &Answer, now_s: f64) -> Result<Vec<Act>, String> {
        check(answer, self.test, self.under_18())?;
        self.may(answer)?;
        let mut acts = vec![Act::Answered(self.step, answer.clone())];
        self.keep(answer);
        match answer {
            Answer::Next {} => acts.extend(self.next(now_s)),
            Answer::Skip(skip) => self.pass(Passed::LeftOut(skip.reason.clone()), &mut acts),
            Answer::Again(Again { step }) => {
                self.passed.retain(|(passed, _)| passed != step);
                self.enter(*step, &mut acts);
                self.again = true;
            }
            Answer::Withdraw(_) => {
                self.withdrawn = true;
                self.enter(Step::Summary, &mut acts);
            }
            _ if answer.step() == Some(self.step) && self.step.is_asked() => {
                self.pass(Passed::Done, &mut acts);
            }
            _ => {}
        }
        self.plan_anew();
        Ok(acts)
    }

    /// A key or pedal says "go on".
    pub(super) fn next(&mut self, now_s: f64) -> Vec<Act> {
        let mut acts = Vec::new();
        match self.step {
            step if step.is_asked() => acts.push(Act::Say(strings::PAGE_ASKS.to_owned())),
            Step::PrepareRight | Step::PrepareLeft if !self.neutral => {
                self.neutral = true;
                acts.push(Act::Begin(TrialType::Neutral, self.step.prepares()));
            }
            Step::PrepareRight | Step::PrepareLeft => self.end_hold(&mut acts),
            Step::Summary => acts.extend([Act::EndSpans, Act::EndSource]),
            _ => self.pass(Passed::Done, &mut acts),
        }
        self.flat.push(false, now_s);
        acts
    }

    /// Whether a key that marks also means "go on" now: nothing is in the hands, nothing is measured.
    pub(super) fn mark_goes_on(&self) -> bool {
        let waits = matches!(self.step, Step::Sensors | Step::Treatment | Step::Settle);
        waits && !self.in_hands()
    }

    /// Whether this repetition was made to warm up.
    pub(super) fn warms_up(&mut self, side: Side, direction: Direction) -> bool {
        let way = Way { side, direction };
        let so_far = self.warmed_up.iter().filter(|one| **one == way).count();
        let warms_up = self.step == Step::Baseline && so_far < self.targets.warm_up();
        if warms_up {
            self.warmed_up.push(way);
        }
        warms_up
    }

    /// The two shank sensors have changed places: the leg is prepared anew.
    pub(super) fn exchanged(&mut self) -> Vec<Act> {
        let mut acts = Vec::new();
        if self.step.prepares().is_some() {
            self.enter(self.step, &mut acts);
        }
        acts
    }

    fn may(&self, answer: &Answer) -> Result<(), String> {
        if let Some(step) = answer.step().filter(|step| *step > self.step) {
            return Err(strings::not_now(step));
        }
        let begun = self.step >= Step::Baseline;
        match answer {
            Answer::Person(_) if begun => Err(strings::PERSON_STANDS.to_owned()),
            Answer::Plan(_) if begun => Err(strings::PLAN_STANDS.to_owned()),
            Answer::Plan(plan) if self.barred().contains(&plan.primary) => {
                Err(strings::BARRED.to_owned())
            }
            Answer::NothingNew {}
                if self.known.as_ref().is_none_or(|known| known.cautions().is_none()) =>
            {
                Err(strings::NOT_KNOWN.to_owned())
            }
            Answer::Next {} if self.step.is_asked() => Err(strings::ANSWER_FIRST.to_owned()),
            Answer::Again(Again { step }) => self.may_again(*step),
            _ => Ok(()),
        }
    }

    fn may_again(&self, step: Step) -> Result<(), String> {
        if self.passed.iter().all(|(passed, _)| *passed != step) && step != self.step {
            return Err(strings::NOT_YET.to_owned());
        }
        let treated = self.step > Step::Treatment || self.touched;
        match step {
            Step::Baseline if treated => Err(strings::TREATED.to_owned()),
            _ => Ok(()),
        }
    }

    fn keep(&mut self, answer: &Answer) {
        self.revision += 1;
        if !matches!(answer, Answer::Next {} | Answer::Again(_) | Answer::Skip(_)) {
            self.answers.retain(|older| !answer.replaces(older));
            self.answers.push(answer.clone());
        }
    }

    fn pass(&mut self, how: Passed, acts: &mut Vec<Act>) {
        self.passed.retain(|(step, _)| *step != self.step);
        self.passed.push((self.step, how));
        let is_next = |step: &&Step| {
            **step > self.step
                && self.applies(**step)
                && self.passed.iter().all(|(passed, _)| passed != *step)
        };
        let next = Step::ALL.iter().find(is_next).copied().unwrap_or(Step::Summary);
        self.enter(next, acts);
    }

    fn enter(&mut self, step: Step, acts: &mut Vec<Act>) {
        self.step = step;
        self.revision += 1;
        let before = self.prepare.take();
        (self.neutral, self.awaited) = (false, None);
        (self.flat, self.again, self.touched) = (Flat::default(), false, false);
        self.down_since_s = None;
        acts.push(Act::EndSpans);
        if let Some(side) = step.prepares() {
            let again = before.filter(|before| before.side() == side);
            self.prepare = Some(again.map_or_else(|| Prepare::new(side), |one| one.anew()));
        }
        if let Some(trial_type) =
            step.span().filter(|_| !(step.prepares().is_some() && self.by_limb()))
        {
            let side = match step {
                Step::Treatment => self.plan().map(|plan| plan.primary.side),
                _ => step.prepares(),
            };
            acts.push(Act::Begin(trial_type, side.filter(|side| self.worn.contains(side))));
        }
    }

    fn applies(&self, step: Step) -> bool {
        match step {
            Step::Growth => self.under_18(),
            Step::PrepareRight => self.worn.contains(&Side::Right),
            Step::PrepareLeft => self.worn.contains(&Side::Left),
            _ => true,
        }
    }

    fn plan_anew(&mut self) {
        if self.step <= Step::Baseline
            && let Some(plan) = self.plan().cloned()
        {
            let barred = self.barred().to_vec();
            self.targets = Targets::new(self.test, &self.worn, &barred, &plan, self.seed);
        }
    }

    fn person(&self) -> Option<&Person> {
        self.answers.iter().rev().find_map(|answer| match answer {
            Answer::Person(person) => Some(person),
            _ => None,
        })
    }

    fn plan(&self) -> Option<&Plan> {
        self.answers.iter().rev().find_map(|answer| match answer {
            Answer::Plan(plan) => Some(plan),
            _ => None,
        })
    }

    fn barred(&self) -> &[Way] {
        self.person().map(|person| person.barred.as_slice()).unwrap_or_default()
    }

    fn under_18(&self) -> bool {
        self.person().is_some_and(|person| person.under_18)
    }

    fn in_hands(&self) -> bool {
        self.raised.contains(&true)
    }
}
