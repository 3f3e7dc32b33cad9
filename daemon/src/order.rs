//! What the page may ask for that can be refused; each is answered at once with the reason.

use endarc_protocol::words::SensorRole;

use crate::store::TableRecord;
use crate::visit::course::answer::Person;
use crate::visit::{Answer, Known};

/// One thing that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Order {
    /// Lead through the rests that show a sensor's own errors.
    Calibrate {
        /// Where the sensor is worn.
        sensor: SensorRole,
        /// How warm it is, °C, if told.
        temperature_c: Option<f64>,
    },
    /// Lead through the rests that show a table's tilt.
    Level {
        /// Where the sensor that is laid on it is worn.
        sensor: SensorRole,
        /// The table's name.
        table: String,
    },
    /// Nothing more is to come: compute and keep what was found.
    Finish,
    /// Put the calibration or levelling away.
    Stop,
    /// Measure the visit on this table, as it was levelled; on one that was never levelled without.
    UseTable(Option<Box<TableRecord>>),
    /// Something is answered in a guided visit.
    Answer(Box<Answer>),
    /// Whose visit it is, and what is known of that person from before.
    Person(Box<Person>, Option<Box<Known>>),
    /// The two shank sensors are on each other's leg: what either sent is the other leg's.
    Exchange,
}

/// Why it is not done; a sentence with what to do instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Refusal(pub String);

impl From<String> for Refusal {
    fn from(reason: String) -> Self {
        Self(reason)
    }
}

impl From<&str> for Refusal {
    fn from(reason: &str) -> Self {
        Self(reason.to_owned())
    }
}
