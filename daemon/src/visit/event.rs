//! What a visit is told.

use std::fmt;

use endarc_analysis::limb::LimbEvent;
use endarc_analysis::result::Repetition;
use endarc_protocol::words::{SensorRole, Side, TestKind, TrialType};

use super::course::{BrokenOff, Known};

/// What is settled when a visit begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// The visit's id in the store.
    pub visit_id: String,
    /// The person's code.
    pub person: String,
    /// The test.
    pub test: TestKind,
    /// When it begins, s of visit time.
    pub start_s: f64,
    /// The sensors that are worn.
    pub sensors: Vec<SensorRole>,
    /// Who says where a span begins and ends.
    pub marks: Marks,
}

/// Who says where a span of the visit begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marks {
    /// The source brings its own marks: a simulated therapist, or a recording's events.
    Source,
    /// The therapist, by a pedal, a key or a button.
    Therapist,
    /// The guide, by what the limb does and what is answered; pedal and keys beside it.
    Guide,
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum VisitEvent {
    /// A span of the visit began.
    SpanBegan(SpanMark),
    /// A span of the visit ended.
    SpanEnded(SpanMark),
    /// A leg told something.
    Limb {
        /// Which leg.
        side: Side,
        /// What it told.
        event: LimbEvent,
    },
    /// Samples of a sensor arrived.
    Received {
        /// Which sensor.
        role: SensorRole,
        /// How many.
        samples: u64,
    },
    /// Samples of a sensor are missing.
    Lost(Loss),
    /// How a sensor's link is doing.
    Link {
        /// Which sensor.
        role: SensorRole,
        /// How.
        link: Link,
    },
    /// A sensor's battery, percent; `None` where that is not known.
    Battery {
        /// Which sensor.
        role: SensorRole,
        /// Its level.
        percent: Option<u8>,
    },
    /// What is wrong with the radio and what to do; `None` where all is well again.
    Radio(Option<String>),
    /// The therapist said something.
    Command(Command),
    /// What is known of the person from earlier visits; `None` for one who was not here before.
    Known(Option<Known>),
    /// A visit that broke off a short while ago: its course is taken up.
    TakeUp(BrokenOff),
    /// The store has a repetition on disk, synced.
    Kept {
        /// Which repetition.
        key: RepetitionKey,
        /// Its id in the store.
        id: String,
    },
    /// The store refused a repetition: it is not kept.
    NotKept {
        /// Which repetition.
        key: RepetitionKey,
        /// Why.
        reason: String,
    },
    /// What is recorded reaches the disk again, and nothing was lost.
    SavingAgain,
    /// What is recorded does not reach the disk any more; the text says why and what to do.
    NotSaving(String),
    /// Time went by and nothing else happened.
    Tick,
    /// The source has ended: no sample comes any more.
    SourceEnded,
    /// Final values exist and the visit is closed in the store.
    Finished(Finished),
}

/// What the visit came to, once it is closed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Finished {
    /// The repetitions with their final values (the live one where there is no final), by time;
    /// `None` where there are no final values at all.
    pub repetitions: Option<Vec<Kept>>,
    /// What could not be computed, one plain sentence each.
    pub remarks: Vec<String>,
}

/// A repetition that is synced to disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its id in the store.
    pub id: String,
    /// The repetition.
    pub repetition: Repetition,
}

/// The beginning or the end of a span.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpanMark {
    /// What the span is.
    pub trial_type: TrialType,
    /// The leg it concerns; `None` for both.
    pub side: Option<Side>,
    /// When, s of visit time.
    pub time_s: f64,
}

impl SpanMark {
    /// Whether the span concerns this leg.
    #[must_use]
    pub fn concerns(&self, side: Side) -> bool {
        self.side.is_none_or(|own| own == side)
    }
}

/// What the therapist can say by a pedal, a key or a button.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Mark this moment; while preparing, also go on.
    Mark,
    /// Go on to what comes next.
    Next,
    /// Take back the repetition that was kept last.
    Undo,
    /// The person stopped for pain: no more repetitions are asked for.
    PainStop,
}

/// Tells the repetitions of a visit apart before the store has given them an id.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RepetitionKey {
    /// Which leg.
    pub side: Side,
    /// Counts the repetitions of this leg from 0, through all phases.
    pub number: usize,
}

impl fmt::Display for RepetitionKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.side, self.number)
    }
}

/// A stretch in which samples of a sensor are missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// Which sensor.
    pub role: SensorRole,
    /// The last sample before, or the start of the visit, s of visit time.
    pub from_s: f64,
    /// The first sample after, s of visit time.
    pub to_s: f64,
    /// How many samples; 0 where that cannot be known.
    pub lost: u64,
    /// Why.
    pub cause: LossCause,
}

/// Why samples are missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossCause {
    /// The link was lost or silent.
    LinkLost,
    /// The sensor's counter jumped.
    SamplesMissing,
    /// They came with values that cannot be used.
    SamplesRejected,
    /// The sensor started anew.
    SensorRestarted,
    /// It was connected, but said nothing.
    Silent,
    /// The computer slept.
    HostAsleep,
    /// They came in notifications that could not be read.
    Malformed,
    /// The program had no room for them.
    Overrun,
}

/// How a sensor's link is doing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Link {
    /// It is being looked for.
    Searching,
    /// It is being connected.
    Connecting,
    /// Samples come.
    Streaming,
    /// It is connected, but says nothing.
    Silent,
    /// It is lost, and being taken up again.
    Lost,
    /// It cannot be had; the text says why and what to do.
    Refused(String),
}
