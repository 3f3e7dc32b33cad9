//! What the neutral hold and the knee bends showed, kept until the leg is aligned.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::TrialType;
use nalgebra::Vector3;

use super::LimbConfig;
use crate::alignment::{self, AlignmentError, BendSample};
use crate::calibration::{AccelerometerOffset, StillMoments};
use crate::leg::Leg;

/// Collected samples of neutral and knee bends, and every still moment.
#[derive(Debug, Default)]
pub(super) struct Preparation {
    span: Option<TrialType>,
    moments: StillMoments,
    neutral: Vector3<f64>,
    bends: Vec<BendSample>,
}

impl Preparation {
    pub(super) fn begin(&mut self, span: TrialType) {
        self.span = Some(span);
        match span {
            TrialType::Neutral => self.neutral = Vector3::zeros(),
            TrialType::AlignKnee => self.bends.clear(),
            TrialType::Baseline | TrialType::Treatment | TrialType::Retest => {}
        }
    }

    /// Takes a sample with the vertical and the gyroscope bias found for it.
    pub(super) fn shank(&mut self, sample: &Sample, up: &Vector3<f64>, bias: &Vector3<f64>) {
        self.moments.push(sample);
        match self.span {
            Some(TrialType::Neutral) => self.neutral += up,
            Some(TrialType::AlignKnee) if self.bends.len() < MOST_BEND_SAMPLES => {
                self.bends
                    .push(BendSample { rate: Vector3::from(sample.gyro_rad_s) - bias, up: *up });
            }
            _ => {}
        }
    }

    pub(super) fn has_neutral(&self) -> bool {
        self.neutral != Vector3::zeros()
    }

    pub(super) fn has_bends(&self) -> bool {
        !self.bends.is_empty()
    }

    /// The aligned leg, with the accelerometer's offset as far as the still moments show it.
    pub(super) fn leg(&self, config: LimbConfig) -> Result<Leg, PreparationError> {
        let neutral = self.neutral.try_normalize(1e-6).ok_or(PreparationError::NoNeutral)?;
        let offset = AccelerometerOffset::fit(self.moments.means());
        let neutral_up = offset.correct_up(&neutral);
        let bends: Vec<BendSample> = self
            .bends
            .iter()
            .map(|bend| BendSample { up: offset.correct_up(&bend.up), ..*bend })
            .collect();
        let alignment = if bends.is_empty() {
            alignment::quick(&neutral_up, std::iter::empty())
        } else {
            alignment::from_knee_bends(&neutral_up, &bends, alignment::LIVE_UP_SD_RAD)?
        };
        Ok(Leg {
            side: config.side,
            test: config.test,
            alignment,
            offset,
            neutral_up,
            pelvis: config.pelvis,
        })
    }
}

/// Why a leg could not be aligned.
#[derive(Debug, thiserror::Error)]
pub(super) enum PreparationError {
    /// No still hold yet.
    #[error("no neutral hold yet: hold the shank still and about vertical")]
    NoNeutral,
    /// The knee bends were refused.
    #[error(transparent)]
    Alignment(#[from] AlignmentError),
}

// Two minutes at 200 Hz.
const MOST_BEND_SAMPLES: usize = 24_000;
