//! What leaves a sensor's stream.

use crate::frame::DecodeError;
use crate::sample::Sample;

/// One thing that a sensor's stream has to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Output {
    /// A sample, the next one in order.
    Reading(Reading),
    /// A hole before the next reading.
    Gap(Gap),
    /// A notification that was refused whole.
    Malformed {
        /// When it arrived, host s.
        arrival_s: f64,
        /// Why it was refused.
        error: DecodeError,
    },
}

/// A sample in host time, with what the sensor called it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The sample; its `time_s` is later than that of every reading before.
    pub sample: Sample,
    /// The sensor's sample counter, unrolled to 64 bits within the epoch; without a counter, the
    /// number of the sample in the epoch.
    pub counter: u64,
    /// The sensor's own clock, unrolled to 64 bits within the epoch, in the profile's ticks:
    /// between two timestamps by the measured period. The same as `counter` where the sensor sends
    /// no time.
    pub ticks: u64,
    /// The counts behind the sample, accelerometer x, y, z, then gyroscope x, y, z, in the
    /// sensor's frame: value = count × the profile's scale. `None` where floats are sent.
    pub counts: Option<[i32; 6]>,
}

/// A span without readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Time of the last reading before it, s.
    pub from_s: f64,
    /// Time of the first reading after it, s.
    pub to_s: f64,
    /// Samples that the sensor's counter shows to be missing. Across a new epoch the counter says
    /// nothing, and only those lost before it are counted.
    pub lost: u64,
    /// Why there are none.
    pub cause: GapCause,
}

/// Why there is a gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GapCause {
    /// Samples were lost on the way: the counter shows that they existed.
    Lost,
    /// The sensor marked its samples as "no data".
    NoData,
    /// The sensor took no samples: its counter went on, but its clock shows a pause.
    Pause,
    /// A new epoch: the link was taken up again, or the sensor's counter or clock began anew.
    Restart,
    /// A new epoch: so long a silence that the counter may have rolled over unseen.
    Silence,
}

impl GapCause {
    /// The cause in a word, for storing.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Lost => "lost",
            Self::NoData => "no-data",
            Self::Pause => "pause",
            Self::Restart => "restart",
            Self::Silence => "silence",
        }
    }
}

/// What became of everything a sensor sent. All but `malformed` count samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counters {
    /// Readings handed out.
    pub received: u64,
    /// Shown by the counter, but never arrived, or not in time.
    pub lost: u64,
    /// Arrived again.
    pub duplicate: u64,
    /// Arrived after a later one, but in time to be put in order.
    pub reordered: u64,
    /// Arrived when later ones had already been handed out, or left over from before the link was
    /// lost; not used.
    pub late: u64,
    /// Notifications refused whole.
    pub malformed: u64,
    /// Readings with an axis at the end of its range.
    pub saturated: u64,
    /// Marked by the sensor as "no data".
    pub no_data: u64,
}
