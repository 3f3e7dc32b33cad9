//! Where the visit is led by its guide.

use endarc_analysis::limb::LimbEvent;
use endarc_protocol::words::{Direction, Side};

use super::super::course::answer::Person;
use super::super::course::strings as words;
use super::super::course::{Act, Answer};
use super::super::effect::{Effect, Record};
use super::super::event::{RepetitionKey, SpanMark, VisitEvent};
use super::super::strings;
use super::{Stage, Visit, announce};

impl Visit {
    /// Takes an answer that was given on the page, and says what is to be done.
    ///
    /// # Errors
    /// A sentence that says why it is not taken.
    pub fn answer(&mut self, answer: &Answer, now_s: f64) -> Result<Vec<Effect>, String> {
        if self.stage != Stage::Recording {
            return Err(strings::NOTHING_RECORDED.to_owned());
        }
        let course = self.course.as_mut().ok_or(words::NO_GUIDE)?;
        let acts = course.answer(answer, now_s)?;
        let mut effects = Vec::new();
        self.act(acts, now_s, &mut effects);
        Ok(effects)
    }

    /// Lets the guide hear what happened.
    pub(super) fn lead(&mut self, event: &VisitEvent, now_s: f64, effects: &mut Vec<Effect>) {
        if self.stage != Stage::Recording {
            return;
        }
        let Some(mut course) = self.course.take() else { return };
        let mut acts = match event {
            VisitEvent::Known(known) => {
                course.know(known.clone());
                Vec::new()
            }
            VisitEvent::TakeUp(broken_off) => course.take_up(broken_off, now_s),
            VisitEvent::Limb { side, event: LimbEvent::Angle(angle) } => course.limb(*side, angle),
            VisitEvent::Limb { side, event: LimbEvent::AlignmentRefused { .. } } => {
                course.refused(*side)
            }
            _ => Vec::new(),
        };
        acts.extend(course.time(now_s, |side, direction| self.counted(side, direction)));
        self.course = Some(course);
        // What the limb brings about happened at its sample's time.
        let at_s = match event {
            VisitEvent::Limb { event: LimbEvent::Angle(angle), .. } => angle.time_s,
            _ => now_s,
        };
        self.act(acts, at_s, effects);
    }

    /// A movement that was made to warm up is kept, and does not count.
    pub(super) fn leave_out_warm_up(
        &mut self,
        key: RepetitionKey,
        direction: Direction,
        now_s: f64,
        effects: &mut Vec<Effect>,
    ) {
        if self.course.as_mut().is_some_and(|course| course.warms_up(key.side, direction)) {
            self.notebook.strike_out(key);
            effects.push(announce(now_s, words::WARM_UP.to_owned()));
            effects.push(Effect::Store(Record::StruckOut { key, reason: words::WARM_UP }));
        }
    }

    /// Repetitions of a side and direction that are kept in the present phase.
    pub(super) fn counted(&self, side: Side, direction: Direction) -> usize {
        self.spans.phase().map_or(0, |phase| self.notebook.count(phase, side, direction))
    }

    /// The two shank sensors have changed places.
    pub fn prepare_anew(&mut self, now_s: f64) -> Vec<Effect> {
        let mut effects = Vec::new();
        let acts = self.course.as_mut().map(super::Course::exchanged).unwrap_or_default();
        self.act(acts, now_s, &mut effects);
        effects
    }

    /// Does what the guide wants done.
    pub(in crate::visit) fn act(&mut self, acts: Vec<Act>, now_s: f64, effects: &mut Vec<Effect>) {
        for act in acts {
            match act {
                Act::Begin(trial_type, side) => {
                    self.begin(SpanMark { trial_type, side, time_s: now_s }, effects);
                }
                Act::EndSpans => {
                    for span in self.spans.end_all() {
                        self.ended(&SpanMark { time_s: now_s, ..span }, effects);
                    }
                }
                Act::Answered(step, answer) => {
                    if let Answer::Person(Person { code: Some(code), .. }) = &answer {
                        code.clone_into(&mut self.identity.person);
                    }
                    effects.push(Effect::Store(Record::Answered { time_s: now_s, step, answer }));
                }
                Act::Say(line) => effects.push(announce(now_s, line)),
                Act::EndSource => effects.push(Effect::EndSource),
            }
        }
    }
}
