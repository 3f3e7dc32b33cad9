//! What a visit wants done.

use endarc_analysis::result::{AlignmentReport, More, Repetition};
use endarc_protocol::words::{Direction, Side, TrialType};

use super::course::{Answer, Step};
use super::event::{Command, Loss, RepetitionKey, SpanMark};

/// One thing to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Tell a leg's state machine that a span begins.
    BeginLimb {
        /// Which leg.
        side: Side,
        /// What the span is.
        trial_type: TrialType,
        /// When, s of visit time.
        time_s: f64,
    },
    /// Tell a leg's state machine that its span ends.
    EndLimb {
        /// Which leg.
        side: Side,
        /// When, s of visit time.
        time_s: f64,
    },
    /// Tell a leg's state machine that the therapist marks its position as an end range.
    MarkLimb {
        /// Which leg.
        side: Side,
        /// When, s of visit time.
        time_s: f64,
    },
    /// Store a record.
    Store(Record),
    /// Tell whoever listens, in plain words.
    Announce(Announcement),
    /// The therapist is done: end the source.
    EndSource,
}

/// A line in plain words.
#[derive(Debug, Clone, PartialEq)]
pub struct Announcement {
    /// When, s of visit time.
    pub time_s: f64,
    /// The line, without a full stop at its end.
    pub line: String,
}

/// What is to be stored, raw samples apart.
#[derive(Debug, Clone, PartialEq)]
pub enum Record {
    /// A span began.
    SpanBegan(SpanMark),
    /// A span ended.
    SpanEnded(SpanMark),
    /// A shank sensor's place on its leg is known (better).
    Alignment {
        /// Which leg.
        side: Side,
        /// When, s of visit time.
        time_s: f64,
        /// How it sits.
        report: AlignmentReport,
    },
    /// A repetition with its live value. The answer is [`super::VisitEvent::Kept`].
    Repetition {
        /// Which one.
        key: RepetitionKey,
        /// The repetition.
        repetition: Repetition,
    },
    /// The live value of a repetition was put right.
    Refined {
        /// Which one.
        key: RepetitionKey,
        /// The repetition with its refined value.
        repetition: Repetition,
    },
    /// A repetition does not count any more; it is struck out, never deleted.
    StruckOut {
        /// Which one.
        key: RepetitionKey,
        /// Why.
        reason: &'static str,
    },
    /// Something was answered in a guided visit.
    Answered {
        /// When, s of visit time.
        time_s: f64,
        /// At which step.
        step: Step,
        /// What.
        answer: Answer,
    },
    /// Samples are missing.
    Loss(Loss),
    /// It was told whether more repetitions would settle a comparison.
    Look(Look),
    /// The therapist marked a moment.
    Mark {
        /// When, s of visit time.
        time_s: f64,
        /// By which command.
        command: Command,
    },
}

/// A look at a comparison that could still decide whether to go on.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The leg.
    pub side: Side,
    /// The direction.
    pub direction: Direction,
    /// Retest repetitions there were.
    pub retest_count: usize,
    /// What was told.
    pub told: More,
    /// When, s of visit time.
    pub time_s: f64,
}
