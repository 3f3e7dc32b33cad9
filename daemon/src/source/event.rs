//! What a source tells, in the order in which it happens.

use std::sync::Arc;

use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, TestKind};
use uuid::Uuid;

use super::ble::{News, Trouble};
use crate::store::words::Source as SourceKind;
use crate::visit::{Marks, SpanMark};

/// What is known of a source before it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceInfo {
    /// What kind of source it is.
    pub kind: SourceKind,
    /// The person's code, where the source knows it.
    pub person: Option<String>,
    /// The test.
    pub test: TestKind,
    /// The sensors it brings.
    pub sensors: Vec<SourceSensor>,
    /// Who marks the spans.
    pub marks: Marks,
    /// Visit time at which it starts, s: a recording need not begin at zero.
    pub start_s: f64,
}

impl SourceInfo {
    /// Where sensors are worn.
    #[must_use]
    pub fn roles(&self) -> Vec<SensorRole> {
        self.sensors.iter().map(|sensor| sensor.role).collect()
    }
}

/// One sensor of a source.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceSensor {
    /// Where it is worn.
    pub role: SensorRole,
    /// What tells it apart from every other device.
    pub address: String,
    /// The name it gives itself.
    pub name: Option<String>,
    /// How it writes what it sends; `None` where samples come decoded.
    pub profile: Option<Arc<Profile>>,
}

/// One thing a source tells.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceEvent {
    /// A sensor's notification, as it arrived.
    Notification {
        /// Arrival, s of visit time.
        arrival_s: f64,
        /// Which sensor.
        role: SensorRole,
        /// Which of its characteristics.
        characteristic: Uuid,
        /// What it sent.
        bytes: Vec<u8>,
    },
    /// A sample that is placed in time already: it enters after the clock stage.
    Sample {
        /// Which sensor.
        role: SensorRole,
        /// The sample.
        sample: Sample,
    },
    /// Something about a sensor's link.
    Link {
        /// When, s of visit time.
        time_s: f64,
        /// Which sensor.
        role: SensorRole,
        /// What.
        news: LinkNews,
    },
    /// Something is wrong with the radio; `None` where all is well again.
    Radio {
        /// When, s of visit time.
        time_s: f64,
        /// What.
        trouble: Option<Trouble>,
    },
    /// A span begins.
    SpanBegan(SpanMark),
    /// A span ends.
    SpanEnded(SpanMark),
    /// Nothing comes any more.
    Ended {
        /// When, s of visit time.
        time_s: f64,
    },
}

/// Something about a sensor's link.
#[derive(Debug, Clone, PartialEq)]
pub enum LinkNews {
    /// How it is doing.
    State(News),
    /// Notifications arrived that the pipeline had no room for.
    Overflow {
        /// When the first of them arrived, s of visit time.
        from_s: f64,
        /// How many.
        notifications: u64,
    },
    /// What the sensor says of itself.
    Identity(Box<Identity>),
    /// Its battery's level, percent; `None` where that is not known.
    Battery(Option<u8>),
    /// How strongly it was heard when it was looked for, dBm.
    Signal(i16),
}

/// What a sensor says of itself; `None` for what it does not tell.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Identity {
    /// Who made it.
    pub manufacturer: Option<String>,
    /// Which model it is.
    pub model: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Its firmware's revision.
    pub firmware: Option<String>,
    /// Its battery's level, percent.
    pub battery_percent: Option<u8>,
}

impl SourceEvent {
    /// When it happens, s of visit time.
    #[must_use]
    pub const fn time_s(&self) -> f64 {
        match self {
            Self::Notification { arrival_s, .. } => *arrival_s,
            Self::Sample { sample, .. } => sample.time_s,
            Self::SpanBegan(mark) | Self::SpanEnded(mark) => mark.time_s,
            Self::Link { time_s, .. } | Self::Radio { time_s, .. } | Self::Ended { time_s } => {
                *time_s
            }
        }
    }
}
