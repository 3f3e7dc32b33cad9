//! The pelvis' roll over a whole recording.

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;

use crate::leg::LimbConfig;
use crate::orientation::Orientation;
use crate::pelvis::{self, PelvisAxes};
use crate::track::{Track, TrackError};

/// The pelvis' roll over the recording.
pub(super) struct Roll {
    times_s: Vec<f64>,
    rolls_rad: Vec<f64>,
}

impl Roll {
    pub(super) fn of(
        samples: &[Sample],
        neutral: &Event,
        spans: &[Event],
        config: LimbConfig,
    ) -> Result<Self, TrackError> {
        let track = Track::of("pelvis", samples, &config.offsets.pelvis)?;
        let neutral_up = track.neutral_up(neutral)?;
        let measured = spans.iter().filter(|span| span.trial_type.phase().is_some());
        let ups = measured
            .filter_map(|span| track.within(span).ok())
            .flat_map(|range| track.orientations[range].iter().map(Orientation::up));
        let axes = PelvisAxes::refined(&neutral_up, ups, config.test);
        Ok(Self {
            times_s: samples.iter().map(|sample| sample.time_s).collect(),
            rolls_rad: track
                .orientations
                .iter()
                .map(|orientation| axes.roll(&orientation.up(), config.side, config.test))
                .collect(),
        })
    }

    /// The roll at a time; `None` where the sensor was silent.
    pub(super) fn at(&self, time_s: f64) -> Option<f64> {
        let after = self.times_s.partition_point(|&time| time < time_s);
        let sample = |place: usize| Some((*self.times_s.get(place)?, *self.rolls_rad.get(place)?));
        pelvis::roll_between(time_s, after.checked_sub(1).and_then(sample), sample(after))
    }
}
