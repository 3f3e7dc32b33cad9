//! A sensor's whole recording with its smoothed orientation.

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::TrialType;
use nalgebra::Vector3;

use crate::calibration::{AccelerometerOffset, OffsetPrior, StillMoments};
use crate::orientation::{self, Orientation, STANDARD_GRAVITY_M_S2};

/// One sensor's samples with their smoothed orientation, accelerometer offset taken out.
pub(crate) struct Track {
    what: &'static str,
    pub(crate) samples: Vec<Sample>,
    pub(crate) orientations: Vec<Orientation>,
    pub(crate) offset: AccelerometerOffset,
}

/// Why a sensor's recording cannot be used; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TrackError {
    /// Fewer samples than an analysis can start from.
    #[error("{count} sample(s) of the {what} sensor: nothing can be analysed from that")]
    TooFewSamples {
        /// Which sensor.
        what: &'static str,
        /// How many there are.
        count: usize,
    },
    /// A span without samples.
    #[error(
        "no samples of the {what} sensor within the '{span}' span at {onset_s:.1} s: do the clocks agree?"
    )]
    NoSamplesInSpan {
        /// Which sensor.
        what: &'static str,
        /// The span.
        span: TrialType,
        /// Its start, s.
        onset_s: f64,
    },
    /// The limb moved while it should have been still.
    #[error(
        "the {what} sensor moves by {spread_deg:.0}° within the 'neutral' span at {onset_s:.1} s: \
         hold still for a few seconds, the shank about vertical, and mark only that"
    )]
    NotStill {
        /// Which sensor.
        what: &'static str,
        /// The span's start, s.
        onset_s: f64,
        /// Root mean square angle from the mean vertical, degrees.
        spread_deg: f64,
    },
    /// The accelerometer does not show gravity.
    #[error(
        "the {what} sensor shows {shown_m_s2:.2} m/s² at neutral instead of about 9.8: \
         accelerations must be in m/s² (not g) and still"
    )]
    NotGravity {
        /// Which sensor.
        what: &'static str,
        /// Length of the mean specific force, m/s².
        shown_m_s2: f64,
    },
}

impl TrackError {
    /// The sensor whose samples are at fault.
    #[must_use]
    pub const fn sensor(&self) -> &'static str {
        match self {
            Self::TooFewSamples { what, .. }
            | Self::NoSamplesInSpan { what, .. }
            | Self::NotStill { what, .. }
            | Self::NotGravity { what, .. } => what,
        }
    }
}

impl Track {
    /// A whole recording, its accelerometer offset found from its own still moments.
    pub(crate) fn of(
        what: &'static str,
        raw: &[Sample],
        known: &OffsetPrior,
    ) -> Result<Self, TrackError> {
        let mut moments = StillMoments::default();
        for sample in raw {
            moments.push(sample);
        }
        let offset = AccelerometerOffset::fit_with_prior(moments.means(), known);
        Self::with_offset(what, raw, offset)
    }

    /// A recording whose accelerometer offset is known from elsewhere.
    pub(crate) fn with_offset(
        what: &'static str,
        raw: &[Sample],
        offset: AccelerometerOffset,
    ) -> Result<Self, TrackError> {
        if raw.len() < LEAST_SAMPLES {
            return Err(TrackError::TooFewSamples { what, count: raw.len() });
        }
        let samples: Vec<Sample> = raw.iter().map(|sample| offset.correct(sample)).collect();
        let orientations = orientation::smooth(&samples);
        Ok(Self { what, samples, orientations, offset })
    }

    /// The samples of a span.
    pub(crate) fn within(&self, span: &Event) -> Result<std::ops::Range<usize>, TrackError> {
        let from = self.samples.partition_point(|sample| sample.time_s < span.onset_s);
        let to = self.samples.partition_point(|sample| sample.time_s < span.end_s());
        if from >= to {
            return Err(TrackError::NoSamplesInSpan {
                what: self.what,
                span: span.trial_type,
                onset_s: span.onset_s,
            });
        }
        Ok(from..to)
    }

    /// The mean vertical (unit, sensor frame) in the neutral span.
    pub(crate) fn neutral_up(&self, neutral: &Event) -> Result<Vector3<f64>, TrackError> {
        let span = self.within(neutral)?;
        let finite = || self.samples[span.clone()].iter().filter(|sample| sample.is_finite());
        let force = finite().map(|sample| Vector3::from(sample.accel_m_s2)).sum::<Vector3<f64>>()
            / finite().count().max(1) as f64;
        // As it was read: an offset that is not one must not hide readings in the wrong unit.
        let shown = (force + self.offset.offset_m_s2).norm();
        if !((1.0 - GRAVITY_TOLERANCE)..(1.0 + GRAVITY_TOLERANCE))
            .contains(&(shown / STANDARD_GRAVITY_M_S2))
        {
            return Err(TrackError::NotGravity { what: self.what, shown_m_s2: shown });
        }
        let ups = || self.orientations[span.clone()].iter().map(Orientation::up);
        let up = ups().sum::<Vector3<f64>>().normalize();
        let spread = ups().map(|one| one.angle(&up).powi(2)).sum::<f64>() / span.len() as f64;
        let spread_deg = spread.sqrt().to_degrees();
        if spread_deg > NEUTRAL_SPREAD_DEG {
            let onset_s = neutral.onset_s;
            return Err(TrackError::NotStill { what: self.what, onset_s, spread_deg });
        }
        Ok(up)
    }

    /// The mean angular rate of a span, rad/s.
    pub(crate) fn mean_rate(&self, span: &Event) -> Result<Vector3<f64>, TrackError> {
        let finite: Vec<_> =
            self.samples[self.within(span)?].iter().filter(|sample| sample.is_finite()).collect();
        Ok(finite.iter().map(|sample| Vector3::from(sample.gyro_rad_s)).sum::<Vector3<f64>>()
            / finite.len().max(1) as f64)
    }
}

// Two seconds at the slowest rate in use.
const LEAST_SAMPLES: usize = 50;
const GRAVITY_TOLERANCE: f64 = 0.1;
// A trembling, slowly sagging hold stays well within this.
const NEUTRAL_SPREAD_DEG: f64 = 5.0;
