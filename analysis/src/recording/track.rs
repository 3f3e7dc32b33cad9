//! A sensor's whole recording with its smoothed orientation.

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Side, TestKind};
use nalgebra::Vector3;

use super::RecordingError;
use crate::calibration::{AccelerometerOffset, StillMoments};
use crate::orientation::{self, Orientation, STANDARD_GRAVITY_M_S2};
use crate::pelvis::PelvisAxes;

/// One sensor's samples with their smoothed orientation, accelerometer offset taken out.
pub(super) struct Track {
    what: &'static str,
    pub(super) samples: Vec<Sample>,
    pub(super) orientations: Vec<Orientation>,
    pub(super) offset: AccelerometerOffset,
}

impl Track {
    pub(super) fn of(what: &'static str, raw: &[Sample]) -> Result<Self, RecordingError> {
        if raw.len() < LEAST_SAMPLES {
            return Err(RecordingError::TooFewSamples { what, count: raw.len() });
        }
        let mut moments = StillMoments::default();
        for sample in raw {
            moments.push(sample);
        }
        let offset = AccelerometerOffset::fit(moments.means());
        let samples: Vec<Sample> = raw.iter().map(|sample| offset.correct(sample)).collect();
        let orientations = orientation::smooth(&samples);
        Ok(Self { what, samples, orientations, offset })
    }

    pub(super) fn within(&self, span: &Event) -> Result<std::ops::Range<usize>, RecordingError> {
        let from = self.samples.partition_point(|sample| sample.time_s < span.onset_s);
        let to = self.samples.partition_point(|sample| sample.time_s < span.end_s());
        if from >= to {
            return Err(RecordingError::NoSamplesInSpan {
                what: self.what,
                span: span.trial_type,
                onset_s: span.onset_s,
            });
        }
        Ok(from..to)
    }

    /// The mean vertical (unit, sensor frame) in the neutral span.
    pub(super) fn neutral_up(&self, neutral: &Event) -> Result<Vector3<f64>, RecordingError> {
        let span = self.within(neutral)?;
        let finite = || self.samples[span.clone()].iter().filter(|sample| sample.is_finite());
        let force = finite().map(|sample| Vector3::from(sample.accel_m_s2)).sum::<Vector3<f64>>()
            / finite().count().max(1) as f64;
        let shown = force.norm();
        if !((1.0 - GRAVITY_TOLERANCE)..(1.0 + GRAVITY_TOLERANCE))
            .contains(&(shown / STANDARD_GRAVITY_M_S2))
        {
            return Err(RecordingError::NotGravity { what: self.what, shown_m_s2: shown });
        }
        let up = self.orientations[span].iter().map(Orientation::up).sum::<Vector3<f64>>();
        Ok(up.normalize())
    }

    pub(super) fn mean_rate(&self, span: &Event) -> Result<Vector3<f64>, RecordingError> {
        let finite: Vec<_> =
            self.samples[self.within(span)?].iter().filter(|sample| sample.is_finite()).collect();
        Ok(finite.iter().map(|sample| Vector3::from(sample.gyro_rad_s)).sum::<Vector3<f64>>()
            / finite.len().max(1) as f64)
    }
}

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
        side: Side,
        test: TestKind,
    ) -> Result<Self, RecordingError> {
        let track = Track::of("pelvis", samples)?;
        let neutral_up = track.neutral_up(neutral)?;
        let measured = spans.iter().filter(|span| span.trial_type.phase().is_some());
        let ups = measured
            .filter_map(|span| track.within(span).ok())
            .flat_map(|range| track.orientations[range].iter().map(Orientation::up));
        let axes = PelvisAxes::refined(&neutral_up, ups);
        Ok(Self {
            times_s: samples.iter().map(|sample| sample.time_s).collect(),
            rolls_rad: track
                .orientations
                .iter()
                .map(|orientation| axes.roll(&orientation.up(), side, test))
                .collect(),
        })
    }

    /// The roll at a time, by a straight line between the samples around it.
    pub(super) fn at(&self, time_s: f64) -> f64 {
        let after = self.times_s.partition_point(|&time| time < time_s);
        let before = after.saturating_sub(1);
        let after = after.min(self.times_s.len() - 1);
        let (from, to) = (self.times_s[before], self.times_s[after]);
        let share = if to > from { ((time_s - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
        self.rolls_rad[before] + (self.rolls_rad[after] - self.rolls_rad[before]) * share
    }
}

// Two seconds at the slowest rate in use.
const LEAST_SAMPLES: usize = 50;
const GRAVITY_TOLERANCE: f64 = 0.1;
