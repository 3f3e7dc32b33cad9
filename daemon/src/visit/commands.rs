//! What the therapist says by a pedal, a key or a button, and what comes of it.

use super::effect::{Effect, Record};
use super::event::{Command, SpanMark};
use super::machine::{Visit, announce};
use super::strings;

impl Visit {
    pub(super) fn command(&mut self, command: Command, now_s: f64, effects: &mut Vec<Effect>) {
        match command {
            Command::Mark => {
                effects.push(Effect::Store(Record::Mark { time_s: now_s, command }));
                let goes_on = match &self.course {
                    Some(course) => course.mark_goes_on(),
                    None => self.plan.is_some() && self.spans.phase().is_none(),
                };
                if goes_on {
                    self.next(now_s, effects);
                } else {
                    let measured = self.spans.newest().copied();
                    let sides = measured.map(|span| self.worn_sides(&span)).unwrap_or_default();
                    let mark = |side| Effect::MarkLimb { side, time_s: now_s };
                    effects.extend(sides.into_iter().map(mark));
                    effects.push(announce(now_s, strings::MARKED.to_owned()));
                }
            }
            Command::Next => self.next(now_s, effects),
            Command::Undo => self.undo(now_s, effects),
            Command::PainStop => {
                effects.push(Effect::Store(Record::Mark { time_s: now_s, command }));
                self.notebook.stop_for_pain();
                effects.push(announce(now_s, strings::STOPPED_FOR_PAIN.to_owned()));
            }
        }
    }

    fn next(&mut self, now_s: f64, effects: &mut Vec<Effect>) {
        if let Some(course) = &mut self.course {
            let acts = course.next(now_s);
            return self.act(acts, now_s, effects);
        }
        let Some(plan) = &mut self.plan else {
            effects.push(announce(now_s, strings::NEXT_NOT_HERE.to_owned()));
            return;
        };
        let step = plan.advance();
        for span in self.spans.end_all() {
            self.ended(&SpanMark { time_s: now_s, ..span }, effects);
        }
        match step {
            Some((trial_type, side)) => {
                self.begin(SpanMark { trial_type, side, time_s: now_s }, effects);
            }
            None => effects.push(Effect::EndSource),
        }
    }

    fn undo(&mut self, now_s: f64, effects: &mut Vec<Effect>) {
        let last = self.notebook.last_kept();
        let Some((key, repetition)) =
            last.and_then(|key| self.notebook.strike_out(key).map(|repetition| (key, repetition)))
        else {
            effects.push(announce(now_s, strings::NOTHING_TO_UNDO.to_owned()));
            return;
        };
        let reason = strings::TAKEN_BACK;
        effects.push(announce(now_s, strings::struck_out(&repetition, reason)));
        effects.push(Effect::Store(Record::StruckOut { key, reason }));
    }
}
