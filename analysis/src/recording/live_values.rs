//! Live results of a recording: the leg's state machine fed in order.

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::TrialType;

use super::{LegResult, Recording, RecordingError};
use crate::dose;
use crate::limb::{Limb, LimbEvent};
use crate::preparation::PreparationError;
use crate::repetition::Point;
use crate::result::{AlignmentReport, Repetition};
use crate::verdict;

pub(super) fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    let side = recording.side;
    let spans = recording.spans();
    let mut gathered = Gathered::default();
    feed(recording, &spans, &mut |event| gathered.take(event));
    let alignment = match (gathered.alignment, gathered.refused) {
        (Some(alignment), _) => alignment,
        (None, Some(reason)) => return Err(RecordingError::Live { reason }),
        (None, None) => return Err(PreparationError::NoNeutral { side }.into()),
    };
    let doses = dose::of(&spans, &gathered.points);
    let verdicts = verdict::verdicts(side, recording.test, &gathered.repetitions);
    Ok(LegResult { alignment, repetitions: gathered.repetitions, doses, verdicts })
}

/// What the leg told, gathered.
#[derive(Default)]
struct Gathered {
    alignment: Option<AlignmentReport>,
    refused: Option<String>,
    repetitions: Vec<Repetition>,
    points: Vec<Point>,
}

impl Gathered {
    fn take(&mut self, event: LimbEvent) {
        match event {
            LimbEvent::Angle(angle) => {
                if let (Some(angle_deg), Some(knee_deg)) = (angle.angle_deg, angle.knee_flexion_deg)
                {
                    self.points.push(Point {
                        time_s: angle.time_s,
                        angle_deg,
                        knee_deg,
                        roll_deg: angle.pelvis_roll_deg,
                        saturated: false,
                    });
                }
            }
            LimbEvent::Aligned(report) => self.alignment = Some(report),
            LimbEvent::AlignmentRefused { reason, .. } => self.refused = Some(reason),
            LimbEvent::Captured { repetition, .. } => self.repetitions.push(repetition),
            LimbEvent::Refined { number, repetition } => {
                if let Some(kept) = self.repetitions.get_mut(number) {
                    *kept = repetition;
                }
            }
            LimbEvent::StrapMoved(_)
            | LimbEvent::RestMoved(_)
            | LimbEvent::Raised { .. }
            | LimbEvent::LaidDown { .. } => {}
        }
    }
}

/// Feeds samples and marks in the order of time.
fn feed(recording: &Recording<'_>, spans: &[Event], take: &mut impl FnMut(LimbEvent)) {
    let pelvis = recording.pelvis.unwrap_or_default();
    let mut limb = Limb::new(recording.config());
    // Where onset and length of a span add up to just after the onset of the next, that onset ends it:
    // an end that came later would end the next one.
    let until = |place: usize| spans.get(place + 1).map_or(f64::INFINITY, |next| next.onset_s);
    let mut marks: Vec<(f64, Option<TrialType>)> = spans
        .iter()
        .enumerate()
        .flat_map(|(place, span)| {
            let end_s = span.end_s().min(until(place));
            [(span.onset_s, Some(span.trial_type)), (end_s, None)]
        })
        .collect();
    // An end before a beginning at the same time.
    marks.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.is_some().cmp(&b.1.is_some())));
    let mut marks = marks.into_iter().peekable();
    let mut pelvis = pelvis.iter().peekable();
    let mut pressed = recording.marks.iter().copied().peekable();
    let mut events = Vec::new();
    for sample in recording.shank {
        while let Some((time_s, mark)) = marks.next_if(|(time_s, _)| *time_s <= sample.time_s) {
            while let Some(roll) = pelvis.next_if(|roll: &&Sample| roll.time_s < time_s) {
                limb.pelvis(roll, &mut events);
            }
            match mark {
                Some(span) => limb.begin(span, time_s, &mut events),
                None => limb.end(time_s, &mut events),
            }
        }
        while let Some(roll) = pelvis.next_if(|roll: &&Sample| roll.time_s <= sample.time_s) {
            limb.pelvis(roll, &mut events);
        }
        while let Some(time_s) = pressed.next_if(|time_s| *time_s <= sample.time_s) {
            limb.mark(time_s, &mut events);
        }
        limb.shank(sample, &mut events);
        events.drain(..).for_each(&mut *take);
    }
    for (time_s, mark) in marks {
        if mark.is_none() {
            limb.end(time_s, &mut events);
        }
    }
    events.drain(..).for_each(take);
}
