//! The shapes of finding and assigning, as the interface shows them.

use endarc_protocol::words::SensorRole;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What is known of the sensors in sight and of those that are assigned.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema, Default)]
pub struct FittingState {
    /// Whether sensors are being looked for.
    pub search: Search,
    /// Why it does not go on, and what to do; null where nothing is wrong.
    pub trouble: Option<String>,
    /// The address of the sensor that was turned in the hand last; null before any was.
    pub moved: Option<String>,
    /// Sensors in sight that a profile fits, and those that are assigned; strongest first.
    pub sensors: Vec<SensorInSight>,
}

/// Whether sensors are being looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Search {
    /// No.
    #[default]
    Off,
    /// Yes.
    Scanning,
    /// Not now: the visit's sensors stream, and a scan would disturb them.
    Paused,
    /// Those in sight are connected, to see which one is being moved.
    Moving,
}

/// One sensor, in sight or assigned.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SensorInSight {
    /// What tells it apart from every other device.
    pub address: String,
    /// The name it was given here, or gives itself; null where it has none.
    pub name: Option<String>,
    /// Signal strength, dBm; null where it is not in sight.
    pub signal_dbm: Option<i16>,
    /// The profile that fits what it advertises, or that it is assigned with.
    pub profile: Option<String>,
    /// Where it is worn; null where it is not assigned.
    #[schema(value_type = Option<String>)]
    pub role: Option<SensorRole>,
    /// Its battery when it was last connected, percent.
    pub battery_percent: Option<u8>,
    /// Whether it is connected while it is seen which one moves.
    pub connected: bool,
}

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(tag = "order", rename_all = "kebab-case", deny_unknown_fields)]
pub enum FittingOrder {
    /// Look for sensors, for two minutes.
    Scan,
    /// Connect those that were found, and see which one is turned in the hand.
    Move,
    /// Stop either.
    Stop,
    /// A sensor is worn here from the next visit on; the one that was is not any more.
    Assign {
        /// The sensor's address.
        address: String,
        /// Where it is worn.
        #[schema(value_type = String)]
        role: SensorRole,
        /// The profile it is read with; left out: the one that fits.
        #[serde(default)]
        profile: Option<String>,
    },
    /// Call a sensor something.
    Rename {
        /// The sensor's address.
        address: String,
        /// Its name, 1 to 64 characters; null: what it calls itself.
        name: Option<String>,
    },
    /// A sensor is worn nowhere any more.
    Forget {
        /// The sensor's address.
        address: String,
    },
}
