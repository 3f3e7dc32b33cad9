//! A whole recording of one leg: samples and events in, results out.

mod final_values;
mod live_values;
mod track;

use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Side, TestKind, TrialType};

use crate::alignment::AlignmentError;
use crate::result::{AlignmentReport, Dose, Repetition, Verdict};

/// The samples and spans of one leg.
#[derive(Debug, Clone, Copy)]
pub struct Recording<'a> {
    /// The shank sensor's samples, by time.
    pub shank: &'a [Sample],
    /// The pelvis sensor's samples, by time, if one was worn.
    pub pelvis: Option<&'a [Sample]>,
    /// The spans of the recording, by time; those of the other leg are passed over.
    pub events: &'a [Event],
    /// The leg.
    pub side: Side,
    /// The test.
    pub test: TestKind,
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
    /// Fewer samples than an analysis can start from.
    #[error("{count} sample(s) of the {what} sensor: nothing can be analysed from that")]
    TooFewSamples {
        /// Which sensor.
        what: &'static str,
        /// How many there are.
        count: usize,
    },
    /// No neutral span.
    #[error(
        "no 'neutral' span for the {side} leg in the events: \
         record a still hold with the shank about vertical"
    )]
    NoNeutral {
        /// The leg.
        side: Side,
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
    /// The leg's state machine refused the alignment.
    #[error("alignment refused: {reason}")]
    LiveAlignment {
        /// Why, and what to do.
        reason: String,
    },
    /// The alignment was refused.
    #[error("alignment refused: {0}")]
    Alignment(#[from] AlignmentError),
}

/// Final results: self-calibration, smoother, alignment, repetitions, verdicts.
///
/// # Errors
/// Any [`RecordingError`].
pub fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    final_values::analyse(recording)
}

/// Live results of the same recording: what the leg's state machine says when it is fed in order.
///
/// # Errors
/// Any [`RecordingError`].
pub fn analyse_live(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    live_values::analyse(recording)
}
