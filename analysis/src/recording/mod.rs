//! A whole recording of one leg: samples and events in, results out.

mod final_values;
mod legs;
mod live_values;
mod roll;
mod turning;

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Side, TestKind};

use crate::calibration::OffsetPriors;
use crate::leg::LimbConfig;
use crate::levelling::Levelling;
use crate::preparation::PreparationError;
use crate::repetition::Point;
use crate::result::{AlignmentReport, Dose, Repetition, Verdict};
use crate::track::TrackError;

/// The samples and spans of one leg.
#[derive(Debug, Clone, Copy)]
pub struct Recording<'a> {
    /// The shank sensor's samples, by time.
    pub shank: &'a [Sample],
    /// The pelvis sensor's samples, by time, if one was worn.
    pub pelvis: Option<&'a [Sample]>,
    /// The spans of the recording, by time; those of the other leg are passed over.
    pub events: &'a [Event],
    /// When the therapist marked an end range, s, by time.
    pub marks: &'a [f64],
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
    /// How the table stands, if that was measured.
    pub levelling: Option<Levelling>,
    /// What is known of the sensors' offsets; the samples of a calibrated sensor come corrected.
    pub offsets: OffsetPriors,
}

impl Recording<'_> {
    /// What is measured.
    fn config(&self) -> LimbConfig {
        LimbConfig {
            side: self.side,
            test: self.test,
            pelvis: self.pelvis.is_some(),
            levelling: self.levelling,
            offsets: self.offsets,
        }
    }

    /// The spans that concern this leg, by time.
    fn spans(&self) -> Vec<Event> {
        self.events.iter().copied().filter(|span| span.concerns(self.side)).collect()
    }
}

/// What a recording of one leg came to.
#[derive(Debug, Clone, PartialEq)]
pub struct LegResult {
    /// How the sensor sat on the shank.
    pub alignment: AlignmentReport,
    /// The repetitions of baseline and retest, by time.
    pub repetitions: Vec<Repetition>,
    /// What was done in treatment.
    pub doses: Vec<Dose>,
    /// Before against after: internal, external, total.
    pub verdicts: Vec<Verdict>,
}

/// Why a recording cannot be analysed; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecordingError {
    /// A sensor's samples cannot be used.
    #[error(transparent)]
    Track(#[from] TrackError),
    /// The leg cannot be prepared from neutral and knee bends.
    #[error(transparent)]
    Preparation(#[from] PreparationError),
    /// The leg's state machine could not be prepared.
    #[error("{reason}")]
    Live {
        /// Why, and what to do.
        reason: String,
    },
}

impl RecordingError {
    /// The sensor whose samples are at fault (`shank`, `pelvis`); `None` if the events are.
    #[must_use]
    pub const fn sensor(&self) -> Option<&'static str> {
        match self {
            Self::Track(track) | Self::Preparation(PreparationError::Track(track)) => {
                Some(track.sensor())
            }
            Self::Preparation(PreparationError::NoNeutral { .. }) => None,
            Self::Preparation(PreparationError::Alignment(_)) | Self::Live { .. } => Some("shank"),
        }
    }
}

/// Final results: self-calibration, smoother, alignment, repetitions, verdicts.
///
/// # Errors
/// Any [`RecordingError`].
pub fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    final_values::analyse(recording)
}

/// The leg over the whole recording, as the final results are found in it: a point for each accepted
/// sample of the shank, by time, in degrees.
///
/// # Errors
/// Any [`RecordingError`].
pub fn curve(recording: &Recording<'_>) -> Result<Vec<Point>, RecordingError> {
    final_values::curve(recording)
}

/// Live results of the same recording: what the leg's state machine says when it is fed in order.
///
/// # Errors
/// Any [`RecordingError`].
pub fn analyse_live(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    live_values::analyse(recording)
}
