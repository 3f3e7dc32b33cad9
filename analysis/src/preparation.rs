//! From a recorded neutral hold and knee bends to an aligned leg.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{Side, TrialType};
use nalgebra::Vector3;

use crate::alignment::{self, Alignment, AlignmentError, BendSample};
use crate::hip;
use crate::leg::{Leg, LimbConfig};
use crate::track::{Track, TrackError};

/// Why a leg cannot be prepared; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PreparationError {
    /// No neutral span.
    #[error(
        "no 'neutral' span for the {side} leg before it is measured: \
         record a still hold with the shank about vertical"
    )]
    NoNeutral {
        /// The leg.
        side: Side,
    },
    /// The sensor's samples cannot be used.
    #[error(transparent)]
    Track(#[from] TrackError),
    /// The alignment was refused.
    #[error("alignment refused: {0}")]
    Alignment(#[from] AlignmentError),
}

/// The neutral span that counts: the last one before measuring begins.
///
/// # Errors
/// [`PreparationError::NoNeutral`].
pub(crate) fn neutral(spans: &[Event], side: Side) -> Result<&Event, PreparationError> {
    last_before_measuring(spans, TrialType::Neutral).ok_or(PreparationError::NoNeutral { side })
}

/// The aligned leg, from the shank sensor's track and the leg's spans: by knee bends where they were
/// made, else by the neutral hold and whatever hip rotations there are.
///
/// # Errors
/// See [`PreparationError`].
pub(crate) fn prepare(
    shank: &Track,
    spans: &[Event],
    config: LimbConfig,
) -> Result<Leg, PreparationError> {
    let neutral = neutral(spans, config.side)?;
    let neutral_up = shank.neutral_up(neutral)?;
    Ok(Leg {
        side: config.side,
        test: config.test,
        alignment: align(shank, spans, config, &neutral_up)?,
        offset: shank.offset.clone(),
        neutral_up,
        pelvis: config.pelvis,
        levelling: config.levelling,
        strap_moved_since_s: None,
    })
}

fn align(
    shank: &Track,
    spans: &[Event],
    config: LimbConfig,
    neutral_up: &Vector3<f64>,
) -> Result<Alignment, PreparationError> {
    let bias = shank.mean_rate(neutral(spans, config.side)?)?;
    let Some(bends) = last_before_measuring(spans, TrialType::AlignKnee) else {
        let measured = spans.iter().filter(|span| span.trial_type.phase().is_some());
        let rates = measured
            .filter_map(|span| shank.within(span).ok())
            .flat_map(|range| &shank.samples[range])
            .filter(|sample| sample.is_finite())
            .map(|sample| Vector3::from(sample.gyro_rad_s) - bias);
        return Ok(alignment::quick(neutral_up, rates));
    };
    let bends: Vec<BendSample> = shank
        .within(bends)?
        .filter(|&i| shank.orientations[i].accepted)
        .map(|i| BendSample {
            rate: Vector3::from(shank.samples[i].gyro_rad_s) - bias,
            up: shank.orientations[i].up(),
        })
        .collect();
    Ok(alignment::from_knee_bends(neutral_up, &bends, hip::posture(config.test))?)
}

/// The last span of a kind before measuring begins: what was done again counts.
fn last_before_measuring(spans: &[Event], kind: TrialType) -> Option<&Event> {
    let measuring_s = spans
        .iter()
        .filter(|span| span.trial_type.phase().is_some())
        .map(|span| span.onset_s)
        .fold(f64::INFINITY, f64::min);
    spans.iter().rfind(|span| span.trial_type == kind && span.onset_s < measuring_s)
}
