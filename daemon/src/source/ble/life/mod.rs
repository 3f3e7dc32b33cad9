//! The life of all connections as one state machine: told what happened, it says what is to be
//! done. No IO, no clock, no task.
//!
//! Per adapter one sensor is taken up at a time; a scan is stopped before that, and runs only in
//! short spells while other sensors stream. Connected is not streaming: only data counts.

mod backoff;
mod scan;
mod sensor;
#[cfg(test)]
mod tests;
mod words;

use super::trouble::Trouble;
use scan::Scan;
use sensor::{Sensor, Stage};

pub(crate) use words::{Action, Event, Step, Which};
pub use words::{Cause, News};

/// How long the radio is left alone after trouble, s.
const RADIO_AGAIN_S: f64 = 2.0;
/// A sensor that does not connect holds others up for so long at most, s.
const PATIENCE_S: f64 = 6.0;

/// How the radio is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Radio {
    /// To be opened at this moment.
    Closed { until_s: f64 },
    /// Being opened.
    Opening,
    /// Open, but not to be used: asked again at this moment.
    Unusable { until_s: f64 },
    /// Being asked.
    Asking,
    /// To be used.
    Ready,
}

/// The connections to all sensors that are wanted.
#[derive(Debug)]
pub(crate) struct Life {
    radio: Radio,
    /// What was told last of the radio.
    told: Option<Trouble>,
    scan: Scan,
    sensors: Vec<Sensor>,
}

impl Life {
    /// The life of so many sensors, from `now_s` on.
    pub(crate) fn new(sensors: usize, now_s: f64) -> Self {
        Self {
            radio: Radio::Closed { until_s: now_s },
            told: None,
            scan: Scan::default(),
            sensors: (0..sensors).map(|which| Sensor::new(which, now_s)).collect(),
        }
    }

    /// Takes what happened and says what is to be done, in this order.
    pub(crate) fn handle(&mut self, event: Event, now_s: f64) -> Vec<Action> {
        let mut actions = Vec::new();
        match event {
            Event::Tick => self.tick(now_s, &mut actions),
            Event::Opened(outcome) => self.opened(outcome, now_s, &mut actions),
            Event::Adapter(outcome) => self.adapter(outcome, now_s, &mut actions),
            Event::Scan(on, outcome) => {
                self.scan.answered(on, &outcome, now_s);
                // Whatever it was, the adapter may be gone.
                if outcome.is_err() && self.radio == Radio::Ready {
                    self.ask(&mut actions);
                }
            }
            Event::Seen(which) => self.sensor(which, |sensor| sensor.seen(now_s)),
            Event::Done(which, step, outcome) => {
                if let Err(trouble) = &outcome {
                    self.trouble(trouble, now_s, &mut actions);
                }
                let done = |sensor: &mut Sensor| sensor.done(step, outcome, now_s, &mut actions);
                self.sensor(which, done);
            }
            Event::Connected(which, connected) => {
                self.sensor(which, |sensor| sensor.connected(connected, now_s, &mut actions));
            }
            Event::Data(which, at_s) => {
                self.sensor(which, |sensor| sensor.data(at_s, now_s, &mut actions));
            }
            Event::Slept(_) => {
                for sensor in &mut self.sensors {
                    sensor.slept(now_s, &mut actions);
                }
            }
        }
        self.take_turns(now_s, &mut actions);
        actions
    }

    fn tick(&mut self, now_s: f64, actions: &mut Vec<Action>) {
        match self.radio {
            Radio::Closed { until_s } if now_s >= until_s => {
                self.radio = Radio::Opening;
                self.scan = Scan::default();
                self.sensors.iter_mut().for_each(Sensor::unlink);
                actions.push(Action::Open);
            }
            Radio::Unusable { until_s } if now_s >= until_s => self.ask(actions),
            _ => {}
        }
        for sensor in &mut self.sensors {
            sensor.tick(now_s, actions);
        }
    }

    fn opened(&mut self, outcome: Result<(), Trouble>, now_s: f64, actions: &mut Vec<Action>) {
        match outcome {
            Ok(()) => self.ask(actions),
            Err(trouble) => {
                self.tell(Some(trouble), actions);
                self.radio = Radio::Closed { until_s: now_s + RADIO_AGAIN_S };
            }
        }
    }

    fn adapter(&mut self, outcome: Result<bool, Trouble>, now_s: f64, actions: &mut Vec<Action>) {
        match outcome {
            Ok(true) => {
                self.radio = Radio::Ready;
                self.tell(None, actions);
            }
            Ok(false) => self.unusable(Trouble::Off, now_s, actions),
            Err(trouble) => self.unusable(trouble, now_s, actions),
        }
    }

    fn unusable(&mut self, trouble: Trouble, now_s: f64, actions: &mut Vec<Action>) {
        let until_s = now_s + RADIO_AGAIN_S;
        self.scan = Scan::default();
        self.radio = match trouble {
            Trouble::NoBus => Radio::Closed { until_s },
            _ => Radio::Unusable { until_s },
        };
        self.tell(Some(trouble), actions);
    }

    /// Somebody's call failed: where the radio is at fault it is looked after at once.
    fn trouble(&mut self, trouble: &Trouble, now_s: f64, actions: &mut Vec<Action>) {
        if self.radio == Radio::Ready && trouble.is_the_radios() {
            match trouble {
                Trouble::NoBus => self.unusable(Trouble::NoBus, now_s, actions),
                _ => self.ask(actions),
            }
        }
    }

    fn ask(&mut self, actions: &mut Vec<Action>) {
        self.radio = Radio::Asking;
        actions.push(Action::AskAdapter);
    }

    fn tell(&mut self, trouble: Option<Trouble>, actions: &mut Vec<Action>) {
        if self.told != trouble {
            self.told.clone_from(&trouble);
            actions.push(Action::TellRadio(trouble));
        }
    }

    fn sensor(&mut self, which: Which, tell: impl FnOnce(&mut Sensor)) {
        if let Some(sensor) = self.sensors.get_mut(which) {
            tell(sensor);
        }
    }

    /// Decides who is taken up, and whether a scan runs.
    fn take_turns(&mut self, now_s: f64, actions: &mut Vec<Action>) {
        if self.radio != Radio::Ready || self.hold_up(now_s, actions) {
            return;
        }
        let next = self
            .sensors
            .iter()
            .enumerate()
            .filter_map(|(which, sensor)| match sensor.stage {
                Stage::Due { since_s } => Some((since_s, which)),
                _ => None,
            })
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let any = |stage: fn(&Stage) -> bool| self.sensors.iter().any(|one| stage(&one.stage));
        let unseen = any(|stage| *stage == Stage::Unseen);
        let streaming = any(|stage| matches!(stage, Stage::Streaming { .. }));
        let clear = self.scan.clear(scan::Wish { due: next.is_some(), unseen, streaming }, now_s);
        actions.extend(clear.action);
        if let (true, Some((_, which))) = (clear.may_connect, next) {
            self.sensor(which, |sensor| sensor.take_up(now_s, actions));
        }
    }

    /// Whether somebody is being taken up. Who does not connect while others wait gives way.
    fn hold_up(&mut self, now_s: f64, actions: &mut Vec<Action>) -> bool {
        let others_wait =
            self.sensors.iter().any(|sensor| matches!(sensor.stage, Stage::Due { .. }));
        for (which, sensor) in self.sensors.iter_mut().enumerate() {
            let Stage::TakingUp { step, since_s } = sensor.stage else { continue };
            let slow = step == Step::Connect && now_s - since_s > PATIENCE_S;
            if slow && others_wait {
                actions.push(Action::Abandon(which, step));
                sensor.done(step, Err(Trouble::TimedOut), now_s, actions);
            }
            return true;
        }
        false
    }
}
