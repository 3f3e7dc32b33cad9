//! When a scan runs: to find sensors that are not known, never while one is being connected, and
//! only in short spells while others stream.

use super::super::trouble::Trouble;
use super::words::Action;

/// How long a scan goes on for sensors that are missing while others are found already, s.
const GATHER_S: f64 = 3.0;
/// How long a spell lasts while others stream, s.
const SPELL_S: f64 = 3.0;
/// How long the radio then belongs to those that stream, s.
const PAUSE_S: f64 = 7.0;
/// How long after a scan that did not start another is tried, s.
const AGAIN_S: f64 = 2.0;
/// How often it is looked who was found, s.
const LOOK_S: f64 = 0.5;

/// How the scan stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scan {
    /// Off; not on again before `until_s`, and while others stream not before `pause_s`.
    Off { until_s: f64, pause_s: f64 },
    /// Told to start or to stop; the answer has not come.
    Changing,
    /// On since this moment; looked last at another.
    On { since_s: f64, looked_s: f64 },
}

impl Default for Scan {
    fn default() -> Self {
        Self::Off { until_s: f64::NEG_INFINITY, pause_s: f64::NEG_INFINITY }
    }
}

/// Who wants what.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wish {
    /// A sensor waits to be connected.
    pub(super) due: bool,
    /// A sensor must be found.
    pub(super) unseen: bool,
    /// A sensor streams.
    pub(super) streaming: bool,
}

/// What follows.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Clear {
    /// What is to be done about the scan.
    pub(super) action: Option<Action>,
    /// Whether a sensor may be connected now.
    pub(super) may_connect: bool,
}

impl Scan {
    pub(super) fn clear(&mut self, wish: Wish, now_s: f64) -> Clear {
        match *self {
            Self::Changing => Clear::default(),
            Self::Off { .. } if wish.due => Clear { action: None, may_connect: true },
            Self::Off { until_s, pause_s } => {
                let free = now_s >= until_s && (!wish.streaming || now_s >= pause_s);
                let start = wish.unseen && free;
                Clear { action: start.then(|| self.change(true)), may_connect: false }
            }
            Self::On { since_s, looked_s } => {
                let lasted_s = now_s - since_s;
                let enough = (wish.due && (wish.streaming || lasted_s > GATHER_S))
                    || (wish.streaming && lasted_s > SPELL_S);
                let action = if !wish.unseen || enough {
                    Some(self.change(false))
                } else if now_s - looked_s >= LOOK_S {
                    *self = Self::On { since_s, looked_s: now_s };
                    Some(Action::Look)
                } else {
                    None
                };
                Clear { action, may_connect: false }
            }
        }
    }

    /// The answer to what was told: started or stopped, or why not.
    pub(super) fn answered(&mut self, on: bool, outcome: &Result<(), Trouble>, now_s: f64) {
        if *self != Self::Changing {
            return;
        }
        *self = match (on, outcome.is_ok()) {
            (true, true) => Self::On { since_s: now_s, looked_s: f64::NEG_INFINITY },
            (true, false) => Self::Off { until_s: now_s + AGAIN_S, pause_s: now_s + PAUSE_S },
            (false, _) => Self::Off { until_s: now_s, pause_s: now_s + PAUSE_S },
        };
    }

    fn change(&mut self, on: bool) -> Action {
        *self = Self::Changing;
        Action::Scan(on)
    }
}
