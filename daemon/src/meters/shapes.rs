//! The shapes of what is measured, as the interface shows them.

use std::fmt;

use endarc_protocol::words::SensorRole;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::live::LinkWord;

/// How the running program is doing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Status {
    /// The program's version.
    pub version: String,
    /// For how long it has been running, s.
    pub up_s: f64,
    /// How long the data's way takes, counted from the arrival of a notification.
    pub latencies: Vec<WayLatency>,
    /// What it costs the computer.
    pub process: Process,
    /// Each sensor of the visit: what became of what it sent. Brought up to date once a second.
    pub sensors: Vec<SensorStatus>,
}

/// Where a notification has got to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// Its samples are decoded and placed in time.
    Decoded,
    /// A sample has passed the filters: its angle is known. It waited for the other sensors'
    /// samples of the same moment.
    Angle,
    /// An event that holds the newest sample was handed to a page's connection.
    Page,
    /// The oldest sample of a chunk is synced to disk; a chunk is cut once a second.
    Stored,
    /// A repetition is synced to disk, from the notification that completed it.
    Kept,
}

impl Way {
    /// All of them, in the order in which they are gone.
    pub const ALL: [Self; 5] = [Self::Decoded, Self::Angle, Self::Page, Self::Stored, Self::Kept];
}

impl fmt::Display for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Decoded => "decoded",
            Self::Angle => "angle",
            Self::Page => "page event",
            Self::Stored => "stored",
            Self::Kept => "repetition kept",
        })
    }
}

/// How long one way takes; null where nothing has gone it yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WayLatency {
    /// Which way.
    pub way: Way,
    /// How many were counted.
    pub count: u64,
    /// Half of them took no longer than this, ms.
    pub p50_ms: Option<f64>,
    /// 99 of 100 took no longer than this, ms.
    pub p99_ms: Option<f64>,
    /// The longest, ms; a minute stands for anything longer.
    pub max_ms: Option<f64>,
}

/// What the program costs the computer; null where the system does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Process {
    /// Processor time since it was started, s; two processors may take two seconds in one.
    pub cpu_s: Option<f64>,
    /// Memory in use, bytes.
    pub memory_bytes: Option<u64>,
}

/// One sensor: its link, its clock, and what became of what it sent. Samples are counted, but for
/// `malformed`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SensorStatus {
    /// Where it is worn.
    #[schema(value_type = String)]
    pub role: SensorRole,
    /// How its link is doing; null for a source without links.
    pub link: Option<LinkWord>,
    /// Battery, percent; null where it is not known.
    pub battery_percent: Option<u8>,
    /// Whether it is low: by two readings in a row.
    pub battery_low: bool,
    /// Signal strength when it was last looked for, dBm; null where that is not known.
    pub signal_dbm: Option<i16>,
    /// Seconds since the last sample; null before the first.
    pub data_age_s: Option<f64>,
    /// The rate that its profile states, samples a second; null without a profile.
    pub nominal_hz: Option<f64>,
    /// The rate that is measured; null before it can be told.
    pub rate_hz: Option<f64>,
    /// How much its clock is slow (positive) or fast (negative), parts per million; null before it
    /// can be told, and for a sensor that sends no time.
    pub skew_ppm: Option<f64>,
    /// Whether the fit of its clock is beyond what its profile allows, and therefore not applied.
    pub clock_fit_rejected: bool,
    /// How often its counter or clock began anew, the first time included.
    pub epochs: u32,
    /// Handed on.
    pub received: u64,
    /// Never arrived, or not in time.
    pub lost: u64,
    /// Arrived again.
    pub duplicate: u64,
    /// Arrived after a later one, and were put in order.
    pub reordered: u64,
    /// Arrived too late to be used.
    pub late: u64,
    /// Notifications that were refused whole.
    pub malformed: u64,
    /// Readings at the end of the sensor's range.
    pub saturated: u64,
    /// Marked by the sensor as no reading.
    pub no_data: u64,
}

impl SensorStatus {
    /// How far the measured rate is from the stated one, as a part of that; `None` before it can be
    /// told.
    #[must_use]
    pub fn rate_off(&self) -> Option<f64> {
        Some(self.rate_hz? / self.nominal_hz? - 1.0)
    }

    /// A rate further off than this is worth a word: it is the profile that is wrong, or another
    /// rate was set.
    pub const RATE_WORTH_A_WORD: f64 = 0.02;
}
