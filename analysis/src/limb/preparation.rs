//! What the neutral hold and the knee bends showed, kept so that the leg can be aligned live, and
//! better as more is known of the accelerometer.

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::TrialType;

use crate::calibration::{AccelerometerOffset, StillMoments};
use crate::leg::{Leg, LimbConfig};
use crate::preparation::{self, PreparationError};
use crate::track::Track;

/// The samples of neutral and knee bends, and every still moment of the visit so far.
#[derive(Debug, Default)]
pub(super) struct Preparation {
    moments: StillMoments,
    samples: Vec<Sample>,
    spans: Vec<Event>,
    open: Option<TrialType>,
    in_span: usize,
}

impl Preparation {
    /// A span begins; a second neutral hold or set of bends takes the place of the first.
    pub(super) fn begin(&mut self, span: TrialType, time_s: f64) {
        self.in_span = 0;
        self.open = matches!(span, TrialType::Neutral | TrialType::AlignKnee).then_some(span);
        if self.open.is_some() {
            if let Some(old) = self.spans.iter().find(|old| old.trial_type == span).copied() {
                self.samples.retain(|s| !(old.onset_s..old.end_s()).contains(&s.time_s));
                self.spans.retain(|old| old.trial_type != span);
            }
            self.spans.push(Event {
                onset_s: time_s,
                duration_s: f64::INFINITY,
                trial_type: span,
                side: None,
            });
        }
    }

    /// The present span ends.
    pub(super) fn end(&mut self, time_s: f64) {
        if self.open.take().is_some()
            && let Some(span) = self.spans.last_mut()
        {
            span.duration_s = time_s - span.onset_s;
        }
    }

    /// Takes a sample of the shank sensor.
    pub(super) fn shank(&mut self, sample: &Sample) {
        self.moments.push(sample);
        if self.open.is_some() && self.in_span < MOST_SAMPLES {
            self.in_span += 1;
            self.samples.push(*sample);
        }
    }

    /// Whether a span of this kind was recorded.
    pub(super) fn has(&self, kind: TrialType) -> bool {
        self.spans.iter().any(|span| span.trial_type == kind)
    }

    /// The aligned leg: what the end of the visit computes from the same spans, with the
    /// accelerometer's offset as far as the still moments show it by now.
    pub(super) fn leg(&self, config: LimbConfig) -> Result<Leg, PreparationError> {
        let offset =
            AccelerometerOffset::fit_with_prior(self.moments.means(), &config.offsets.shank);
        if !self.has(TrialType::Neutral) {
            return Err(PreparationError::NoNeutral { side: config.side });
        }
        let track = Track::with_offset("shank", &self.samples, offset)?;
        preparation::prepare(&track, &self.spans, config)
    }
}

// Of one span: a minute at 200 Hz.
const MOST_SAMPLES: usize = 12_000;
