//! Words of the store, and how words of any kind travel to and from SQL.

use std::fmt;
use std::str::FromStr;

use endarc_protocol::words;
pub use endarc_protocol::words::EndCriterion;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};

words! {
    /// How a visit stands.
    VisitState, "visit state", {
        /// Being recorded.
        Open = "open",
        /// Ended by the therapist.
        Closed = "closed",
        /// The program or the power went away; ended with the last stored sample.
        Interrupted = "interrupted",
        /// Something could not be saved (a full disk): the end is missing.
        Truncated = "truncated",
    }
}

words! {
    /// Where the samples of a visit came from.
    Source, "source", {
        /// Bluetooth sensors.
        Ble = "ble",
        /// The simulator.
        Sim = "sim",
        /// A recording that was played back.
        Replay = "replay",
    }
}

words! {
    /// How the value of a repetition was computed.
    ValueKind, "value kind", {
        /// While it happened, from the past alone.
        Live = "live",
        /// Afterwards, from the whole visit.
        Final = "final",
    }
}

words! {
    /// How an alignment was found.
    AlignmentKind, "alignment kind", {
        /// From the neutral hold alone, the sensor taken as strapped on roughly straight.
        Quick = "quick",
        /// From the neutral hold and knee bends.
        KneeBends = "knee-bends",
    }
}

words! {
    /// What can be said of a change.
    Finding, "finding", {
        /// Too few repetitions before or after.
        NotEnough = "not-enough",
        /// The two measurements cannot be held against each other.
        NoClaim = "no-claim",
        /// It cannot be told from measurement error.
        WithinError = "within-error",
        /// It is larger than measurement error.
        ExceedsError = "exceeds-error",
    }
}

words! {
    /// What a look at an open comparison told.
    LookTold, "look", {
        /// Nothing is open any more.
        Settled = "settled",
        /// More repetitions would settle it.
        More = "more",
        /// The limit decides, and no repetition lowers it.
        LimitDecides = "limit-decides",
        /// Not even all that may be made would.
        OutOfReach = "out-of-reach",
    }
}

words! {
    /// Why samples are missing.
    GapCause, "gap cause", {
        /// The link to the sensor was lost or silent.
        LinkLost = "link-lost",
        /// The sensor's counter jumped: samples were lost on the way.
        SamplesMissing = "samples-missing",
        /// Samples came with values that could not be used.
        SamplesRejected = "samples-rejected",
        /// The sensor started anew.
        SensorRestarted = "sensor-restarted",
        /// The sensor was connected, but said nothing.
        Silent = "silent",
        /// The computer slept.
        HostAsleep = "host-asleep",
        /// They came in notifications that could not be read.
        Malformed = "malformed",
        /// A queue of the program was full.
        Overrun = "overrun",
        /// The disk did not take them.
        NotSaved = "not-saved",
    }
}

/// A word on its way to or from a column.
#[derive(Debug, Clone, Copy)]
pub(super) struct Word<T>(pub(super) T);

impl<T: fmt::Display> ToSql for Word<T> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::from(self.0.to_string()))
    }
}

impl<T: FromStr<Err: std::error::Error + Send + Sync + 'static>> FromSql for Word<T> {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let text = value.as_str()?;
        let word = text.parse().map_err(FromSqlError::other)?;
        Ok(Self(word))
    }
}
