//! Why a table's tilt cannot be told yet.

use endarc_analysis::levelling::LevellingError;

/// Why the sensor on the table says nothing yet; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OnTableError {
    /// The rest cannot be used.
    #[error(transparent)]
    Level(#[from] LevellingError),
    /// It was turned by something else than half a turn.
    #[error(
        "it was turned by {turned_deg:.0}°, half a turn is needed: turn it on the same place until \
         it points to the foot end"
    )]
    NotHalfATurn {
        /// By how much it was turned, degrees.
        turned_deg: f64,
    },
    /// One rest of a sensor that was never calibrated.
    #[error(
        "one rest of a sensor that was never calibrated shows the sensor, not the table: turn it by \
         half a turn on the same place"
    )]
    NotCalibrated,
    /// Not even one rest.
    #[error(
        "the sensor has not lain still yet: lay it on the table and let go of it for 5 seconds"
    )]
    NoRest,
}
