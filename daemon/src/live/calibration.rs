//! A calibration or levelling that is being led through, as a viewer is shown it.

use endarc_protocol::words::SensorRole;
use serde::Serialize;
use utoipa::ToSchema;

/// What is being found out, and how far it has come.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveCalibration {
    /// What is being found out.
    pub task: CalibrationTask,
    /// The sensor that is laid about.
    #[schema(value_type = String)]
    pub sensor: SensorRole,
    /// The table that is levelled; null for a sensor's calibration.
    pub table: Option<String>,
    /// How far it has come.
    pub state: CalibrationState,
    /// What to do now, one line.
    pub prompt: String,
    /// The rests that are wanted, in any order for a sensor, in this order for a table.
    pub rests: Vec<LiveRest>,
    /// Whether finishing would be taken now.
    pub complete: bool,
    /// Why it was refused last, and what to do; empty when it was not.
    pub reason: String,
    /// What was found, a line each; empty until it is kept.
    pub result: Vec<String>,
}

/// What is being found out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CalibrationTask {
    /// A sensor's own errors.
    Sensor,
    /// A table's tilt.
    Table,
}

/// How far it has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CalibrationState {
    /// Rests are being gathered.
    Resting,
    /// Found, and on its way to the disk.
    Saving,
    /// On disk; it counts from now on.
    Kept,
}

/// One rest that is wanted.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveRest {
    /// Which one, in words.
    pub name: String,
    /// How long the sensor has rested so, s.
    pub rested_s: f64,
    /// How long it is to rest, s.
    pub wanted_s: f64,
    /// Whether that is enough.
    pub done: bool,
    /// Whether the sensor lies so now.
    pub now: bool,
    /// Whether it lies so and is still.
    pub still: bool,
}
