//! Imports: recordings that come back from an export, or from elsewhere, to be analysed here.
//!
//! What is read is a [`Recording`] whatever form it came in: a Motion-BIDS dataset, an export of
//! tables with raw samples, or a folder with the Motion CSVs of one recording. [`keep()`] stores it as
//! a visit whose repetitions are computed like those of any other.

mod bids;
mod bids_motion;
mod error;
mod keep;
mod motion;
mod sheet;
mod single;
mod tables;

use std::path::Path;

use endarc_analysis::levelling::TableLevel;
use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Direction, SensorRole, Side, TestKind};

pub use error::ImportError;
pub use keep::keep;

use crate::sensor_calibration::SensorCalibration;
use crate::store::words::EndCriterion;
use crate::store::{Code, WallTime};

/// How the table stood.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Tilt {
    /// Nobody said.
    #[default]
    Unknown,
    /// Sideways, as a number, degrees.
    Degrees(f64),
    /// As it was measured.
    Level(TableLevel),
}

/// One sensor of a recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// Where it was worn.
    pub role: SensorRole,
    /// What it is called outside.
    pub label: String,
    /// Its samples as they came, by time.
    pub samples: Vec<Sample>,
    /// What they are to be corrected with, if that is known.
    pub calibration: Option<SensorCalibration>,
}

/// A recording as it comes in. What is `None` it does not say itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recording {
    /// Where it came from, for messages.
    pub name: String,
    /// Whose.
    pub person: Option<Code>,
    /// What was measured.
    pub test: Option<TestKind>,
    /// When it began.
    pub started: Option<WallTime>,
    /// What was done when.
    pub spans: Vec<Event>,
    /// Moments that were marked, with what marked them.
    pub marks: Vec<(f64, String)>,
    /// The sensors.
    pub sensors: Vec<Sensor>,
    /// The table.
    pub tilt: Tilt,
    /// The leg and direction named beforehand.
    pub primary: Option<(Side, Direction)>,
    /// What ended repetitions.
    pub end_criterion: Option<EndCriterion>,
    /// Samples that were left out because a value was not a number.
    pub left_out: usize,
}

/// Reads every recording of a folder. `side` says which leg `shank.csv` was worn on.
///
/// # Errors
/// [`ImportError`] names the file, the line and the remedy; nothing is kept of a folder that has one.
pub fn read(folder: &Path, side: Option<Side>) -> Result<Vec<Recording>, ImportError> {
    let has = |name: &str| folder.join(name).exists();
    let mut recordings = if has("dataset_description.json") {
        bids::read(folder)?
    } else if has(tables::VISITS) {
        tables::read(folder)?
    } else {
        vec![single::read(folder, side)?]
    };
    for recording in &mut recordings {
        for sensor in &mut recording.sensors {
            let all = sensor.samples.len();
            sensor.samples.retain(Sample::is_finite);
            recording.left_out += all - sensor.samples.len();
        }
        keep::check(recording)?;
    }
    Ok(recordings)
}
