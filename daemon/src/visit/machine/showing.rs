//! What a viewer is shown of a visit.

use super::super::counsel::measures;
use super::super::strings;
use super::{Stage, Visit};
use crate::live::LiveState;

impl Visit {
    /// What a viewer is shown at `now_s`; the sequence is counted by whoever publishes it.
    #[must_use]
    pub fn state(&self, now_s: f64) -> LiveState {
        LiveState {
            sequence: 0,
            time_s: now_s,
            visit: Some(self.identity.clone()),
            phase: self.spans.phase(),
            prompt: self.prompt(now_s),
            legs: self.legs.iter().map(|leg| leg.live(&self.sensors, now_s)).collect(),
            sensors: self.sensors.live(now_s),
            saving: self.saving,
            radio: self.radio.clone(),
            repetitions: self.notebook.live(),
            changes: self.notebook.changes().to_vec(),
            more: self.counsel(),
            exchange: self.offer.clone(),
            // Of these the pipeline knows more than the visit.
            table: None,
            calibration: None,
            course: self
                .course
                .as_ref()
                .map(|course| course.live(|side, way| self.counted(side, way), now_s)),
            ended: self.stage == Stage::Closed,
            newest_at_s: None,
        }
    }

    /// Whether nothing more is asked for, because of pain: neither measured nor treated.
    fn stopped(&self) -> bool {
        self.spans.phase().is_some() && self.notebook.stopped_for_pain()
    }

    fn prompt(&self, now_s: f64) -> String {
        if let (Stage::Recording, Some(course)) = (self.stage, &self.course) {
            if self.stopped() {
                return strings::STOPPED.to_owned();
            }
            return course.prompt(|side, way| self.counted(side, way), now_s);
        }
        match (self.stage, self.spans.newest()) {
            (Stage::Closed, _) => strings::CLOSED.to_owned(),
            (Stage::Closing, _) => strings::CLOSING.to_owned(),
            (Stage::Recording, Some(span)) => {
                let aligned = self.legs_of(span).all(|leg| leg.knee_bends_done());
                match self.notebook.stopped_for_pain() && measures(span.trial_type) {
                    true => strings::STOPPED.to_owned(),
                    false => strings::prompt(span, aligned),
                }
            }
            (Stage::Recording, None) if self.measured => strings::BETWEEN.to_owned(),
            (Stage::Recording, None) => strings::BEFORE.to_owned(),
        }
    }
}
