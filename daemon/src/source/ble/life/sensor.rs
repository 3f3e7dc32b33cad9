//! One sensor's way from "wanted" to "streaming", and back.

use super::super::trouble::Trouble;
use super::backoff::Backoff;
use super::words::{Action, Cause, News, Step, Which};

/// Silence that counts as a loss, s: the connection is then checked.
pub(super) const SILENT_AFTER_S: f64 = 1.0;
/// Silence after which a connection that still claims to be one is ended, s.
const ZOMBIE_AFTER_S: f64 = 5.0;
/// A link that held so long was no failure: the next wait is short again, s.
const STABLE_AFTER_S: f64 = 5.0;
/// So many failed pairings in a row are enough.
const PAIRINGS: u32 = 5;
/// How long to wait where the system is busy with the sensor already, s.
const BUSY_S: f64 = 1.0;
/// How long to wait where the radio is at fault, s.
const RADIO_S: f64 = 0.5;
/// How long to wait where the sensor does not fit its profile, s.
const UNFIT_S: f64 = 30.0;

/// How far a sensor has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stage {
    /// Waits since one moment, and is tried again at another.
    Waiting { since_s: f64, until_s: f64 },
    /// Waits for its turn since this moment.
    Due { since_s: f64 },
    /// Not known to the system: a scan must find it.
    Unseen,
    /// Being taken up: this step, since this moment.
    TakingUp { step: Step, since_s: f64 },
    /// Its notifications have been asked for at `since_s`; `heard_s` is when the newest came.
    Streaming { since_s: f64, heard_s: f64, heard: bool, silent: bool, checking: bool },
    /// Its connection is being ended.
    Leaving,
    /// Not tried any more.
    GivenUp,
}

#[derive(Debug, Clone)]
pub(super) struct Sensor {
    which: Which,
    pub(super) stage: Stage,
    /// Whether the link that was found can still be used.
    has_link: bool,
    backoff: Backoff,
    failed_pairings: u32,
    misfits: u32,
    /// Why the next loss will have happened, where that is known before it shows.
    asleep: bool,
}

impl Sensor {
    pub(super) fn new(which: Which, now_s: f64) -> Self {
        Self {
            which,
            stage: Stage::Due { since_s: now_s },
            has_link: false,
            backoff: Backoff::new(which as u64),
            failed_pairings: 0,
            misfits: 0,
            asleep: false,
        }
    }

    /// Time has come so far.
    pub(super) fn tick(&mut self, now_s: f64, actions: &mut Vec<Action>) {
        match self.stage {
            Stage::Waiting { until_s, .. } if now_s >= until_s => self.due(now_s),
            Stage::Streaming { heard_s, silent, checking, .. } => {
                let silence_s = now_s - heard_s;
                if silence_s > ZOMBIE_AFTER_S {
                    let cause = if self.asleep { Cause::HostAsleep } else { Cause::Silent };
                    self.lose(cause, actions);
                    self.leave(actions);
                } else if silence_s > SILENT_AFTER_S && !silent {
                    actions.push(Action::Tell(self.which, News::Silent));
                    self.set_silent(true);
                    if !checking {
                        self.check(actions);
                    }
                }
            }
            _ => {}
        }
    }

    /// It is this sensor's turn.
    pub(super) fn take_up(&mut self, now_s: f64, actions: &mut Vec<Action>) {
        let first = if self.has_link { Step::Connect } else { Step::Find };
        if first == Step::Connect {
            actions.push(Action::Tell(self.which, News::Connecting));
        }
        self.begin(first, now_s, actions);
    }

    /// A step was done, or failed.
    pub(super) fn done(
        &mut self,
        step: Step,
        outcome: Result<(), Trouble>,
        now_s: f64,
        actions: &mut Vec<Action>,
    ) {
        match (self.stage, step) {
            (Stage::TakingUp { step: expected, .. }, _) if expected == step => match outcome {
                Ok(()) => self.next(step, now_s, actions),
                Err(trouble) => self.failed(trouble, now_s, actions),
            },
            (Stage::Streaming { .. }, Step::Check) => self.checked(outcome, now_s, actions),
            (Stage::Leaving, Step::Leave | Step::Forget) => {
                if matches!(outcome, Err(Trouble::Forgotten | Trouble::NoBus)) {
                    self.has_link = false;
                }
                self.wait(now_s);
            }
            // The answer of something that is not waited for any more.
            _ => {}
        }
    }

    /// Its newest notification came at this moment.
    pub(super) fn data(&mut self, at_s: f64, now_s: f64, actions: &mut Vec<Action>) {
        match &mut self.stage {
            Stage::Streaming { since_s, heard_s, heard, silent, .. } => {
                *heard_s = heard_s.max(at_s);
                if !*heard || *silent {
                    actions.push(Action::Tell(self.which, News::Streaming));
                }
                (*heard, *silent) = (true, false);
                if at_s - *since_s > STABLE_AFTER_S {
                    self.backoff.reset();
                    (self.failed_pairings, self.misfits) = (0, 0);
                }
                self.asleep = false;
            }
            // The system has connected it by itself: that connection is taken over.
            Stage::Waiting { since_s, .. } if at_s > *since_s => self.due(now_s),
            _ => {}
        }
    }

    /// The adapter says that the connection came or went. It may be wrong: it only hurries what
    /// would be found anyway.
    pub(super) fn connected(&mut self, connected: bool, now_s: f64, actions: &mut Vec<Action>) {
        match self.stage {
            Stage::Waiting { .. } | Stage::Unseen if connected => self.due(now_s),
            Stage::Streaming { checking: false, .. } if !connected => self.check(actions),
            _ => {}
        }
    }

    /// It is among the devices that are seen.
    pub(super) fn seen(&mut self, now_s: f64) {
        if self.stage == Stage::Unseen {
            self.due(now_s);
        }
    }

    /// The computer has slept.
    pub(super) fn slept(&mut self, now_s: f64, actions: &mut Vec<Action>) {
        match &mut self.stage {
            Stage::Streaming { heard_s, checking, .. } => {
                *heard_s = now_s;
                let checking = *checking;
                self.asleep = true;
                if !checking {
                    self.check(actions);
                }
            }
            // No volley of connects: each waits for its turn again.
            Stage::Waiting { .. } => self.due(now_s),
            _ => {}
        }
    }

    /// The radio has died, and every link with it.
    pub(super) const fn unlink(&mut self) {
        self.has_link = false;
    }

    fn due(&mut self, now_s: f64) {
        self.stage = Stage::Due { since_s: now_s };
    }

    fn begin(&mut self, step: Step, now_s: f64, actions: &mut Vec<Action>) {
        self.stage = Stage::TakingUp { step, since_s: now_s };
        actions.push(Action::Do(self.which, step));
    }

    fn next(&mut self, step: Step, now_s: f64, actions: &mut Vec<Action>) {
        match step {
            Step::Find => {
                self.has_link = true;
                actions.push(Action::Tell(self.which, News::Connecting));
                self.begin(Step::Connect, now_s, actions);
            }
            Step::Connect => self.begin(Step::Discover, now_s, actions),
            Step::Discover => {
                // Before the first notification can come.
                actions.push(Action::Tell(self.which, News::Up));
                self.begin(Step::Subscribe, now_s, actions);
            }
            Step::Subscribe => self.begin(Step::Start, now_s, actions),
            Step::Start | Step::Check | Step::Leave | Step::Forget => {
                self.stage = Stage::Streaming {
                    since_s: now_s,
                    heard_s: now_s,
                    heard: false,
                    silent: false,
                    checking: false,
                };
            }
        }
    }

    fn failed(&mut self, trouble: Trouble, now_s: f64, actions: &mut Vec<Action>) {
        if trouble == Trouble::NotSeen {
            self.has_link = false;
            self.stage = Stage::Unseen;
            actions.push(Action::Tell(self.which, News::Searching));
            return;
        }
        if trouble == Trouble::Authentication {
            self.failed_pairings += 1;
            if self.failed_pairings >= PAIRINGS {
                self.stage = Stage::GivenUp;
                actions.push(Action::Tell(self.which, News::GivenUp(trouble)));
                return;
            }
        }
        actions.push(Action::Tell(self.which, News::Failed(trouble.clone())));
        match trouble {
            Trouble::InProgress => self.wait_for(BUSY_S, now_s),
            Trouble::Forgotten => {
                self.has_link = false;
                self.wait(now_s);
            }
            Trouble::Lacks(_) => {
                self.misfits += 1;
                // What the system remembers may be of before a change of the sensor's firmware.
                self.has_link = false;
                self.stage = Stage::Leaving;
                actions.push(Action::Do(self.which, Step::Forget));
            }
            trouble if trouble.is_the_radios() => self.wait_for(RADIO_S, now_s),
            _ => self.leave(actions),
        }
    }

    fn checked(&mut self, outcome: Result<(), Trouble>, now_s: f64, actions: &mut Vec<Action>) {
        let Err(trouble) = outcome else {
            if let Stage::Streaming { checking, .. } = &mut self.stage {
                *checking = false;
            }
            return;
        };
        self.lose(if self.asleep { Cause::HostAsleep } else { Cause::LinkLost }, actions);
        if matches!(trouble, Trouble::Forgotten | Trouble::NoBus) {
            self.has_link = false;
        }
        self.wait(now_s);
    }

    fn check(&mut self, actions: &mut Vec<Action>) {
        if let Stage::Streaming { checking, .. } = &mut self.stage {
            *checking = true;
            actions.push(Action::Do(self.which, Step::Check));
        }
    }

    fn set_silent(&mut self, now_silent: bool) {
        if let Stage::Streaming { silent, .. } = &mut self.stage {
            *silent = now_silent;
        }
    }

    fn lose(&mut self, cause: Cause, actions: &mut Vec<Action>) {
        self.asleep = false;
        actions.push(Action::Tell(self.which, News::Lost(cause)));
    }

    fn leave(&mut self, actions: &mut Vec<Action>) {
        self.stage = Stage::Leaving;
        actions.push(Action::Do(self.which, Step::Leave));
    }

    fn wait(&mut self, now_s: f64) {
        let wait_s = if self.misfits > 1 { UNFIT_S } else { self.backoff.next_s() };
        self.wait_for(wait_s, now_s);
    }

    const fn wait_for(&mut self, wait_s: f64, now_s: f64) {
        self.stage = Stage::Waiting { since_s: now_s, until_s: now_s + wait_s };
    }
}
