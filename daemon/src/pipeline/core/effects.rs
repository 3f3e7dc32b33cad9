//! Carries out what a visit wants done: on the legs at once, to store and tell as outputs.

use std::collections::VecDeque;

use endarc_analysis::limb::{Limb, LimbEvent};
use endarc_protocol::words::Side;

use super::fed::Fed;
use super::{Core, Output};
use crate::visit::{Effect, Record, VisitEvent};

impl Core {
    /// Feeds the visit, and what its effects on the legs bring forth.
    pub(super) fn visit_at(&mut self, event: VisitEvent, time_s: f64) {
        let mut events = VecDeque::from([event]);
        while let Some(event) = events.pop_front() {
            let effects = self.visit.handle(event, time_s);
            self.carry(effects, &mut events);
        }
    }

    /// Carries effects out, and what they bring forth on the legs.
    pub(super) fn carry_all(&mut self, effects: Vec<Effect>) {
        let mut events = VecDeque::new();
        self.carry(effects, &mut events);
        for event in events {
            self.visit(event);
        }
    }

    fn carry(&mut self, effects: Vec<Effect>, events: &mut VecDeque<VisitEvent>) {
        for effect in effects {
            match effect {
                Effect::BeginLimb { side, trial_type, time_s } => {
                    self.history.push(Fed::Begin(side, trial_type, time_s));
                    self.limb(side, |limb, told| limb.begin(trial_type, time_s, told), events);
                }
                Effect::EndLimb { side, time_s } => {
                    self.history.push(Fed::End(side, time_s));
                    self.limb(side, |limb, told| limb.end(time_s, told), events);
                }
                Effect::MarkLimb { side, time_s } => {
                    self.history.push(Fed::Mark(side, time_s));
                    self.limb(side, |limb, told| limb.mark(time_s, told), events);
                }
                Effect::Store(record) => {
                    match record {
                        Record::SpanEnded(mark) => {
                            self.flush();
                            self.biases(mark.time_s);
                        }
                        Record::Repetition { .. } => self.history.close(),
                        _ => {}
                    }
                    self.outputs.push(Output::Record(record));
                }
                Effect::Announce(announcement) => {
                    self.outputs.push(Output::Announce(announcement));
                }
                Effect::EndSource => self.outputs.push(Output::EndSource),
            }
        }
    }

    pub(super) fn limb(
        &mut self,
        side: Side,
        tell: impl FnOnce(&mut Limb, &mut Vec<LimbEvent>),
        events: &mut VecDeque<VisitEvent>,
    ) {
        let Some((_, limb)) = self.limbs.iter_mut().find(|(own, _)| *own == side) else {
            return;
        };
        let mut told = Vec::new();
        tell(limb, &mut told);
        events.extend(told.into_iter().map(|event| VisitEvent::Limb { side, event }));
    }
}
