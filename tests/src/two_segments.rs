//! Recordings of two rigid segments joined by a joint, a sensor on each, with an optical reference.
//!
//! Data: folder `data/` of the repository daniel-om-weber/dfjimu (recordings by Dustin Lehmann), as
//! converted in the reference folder: `NAME.seg1.imu.npy` and so on, 50 Hz. The optical reference is
//! aligned to the sensors only to about 0.5 to 2.4° and to about a sample in time.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use endarc_protocol::sample::Sample;
use nalgebra::{Quaternion, UnitQuaternion};

use crate::npy::Table;

/// One recording.
#[derive(Debug)]
pub struct Recording {
    /// Its name, e.g. `1D_01`: the number of axes that the joint has, and a number.
    pub name: String,
    /// The samples of either segment.
    pub samples: [Vec<Sample>; 2],
    /// Sensor to earth (z up) of either segment, where the cameras saw it.
    pub references: [Vec<Option<UnitQuaternion<f64>>>; 2],
    /// Where the error counts: in movement, and both segments were seen.
    pub counts: Vec<bool>,
}

/// The names of the recordings of joints with so many axes, sorted.
///
/// # Panics
/// When the manifest cannot be read.
#[must_use]
pub fn names(orientation: &Path, axes: &[char]) -> Vec<String> {
    let text = fs::read_to_string(orientation.join("manifest_twosegment.csv")).expect("a manifest");
    let trial = |row: &str| {
        let trial = row.split(',').nth(1).expect("a trial");
        trial.split_once('.').expect("RECORDING.SEGMENT").0.to_owned()
    };
    let all: BTreeSet<String> = text.lines().skip(1).map(trial).collect();
    all.into_iter().filter(|name| name.starts_with(axes)).collect()
}

impl Recording {
    /// Reads one.
    ///
    /// # Panics
    /// When it is not there or of another kind.
    #[must_use]
    pub fn read(orientation: &Path, name: &str) -> Self {
        let file = |segment: usize, kind: &str| -> PathBuf {
            orientation.join(format!("twosegment/{name}.seg{segment}.{kind}.npy"))
        };
        let references = [1, 2].map(|segment| Table::read(&file(segment, "ref")));
        let counts = references[0]
            .rows()
            .zip(references[1].rows())
            .map(|(first, second)| first[4] > 0.0 && first[0] > MISSING && second[0] > MISSING)
            .collect();
        Self {
            name: name.to_owned(),
            samples: [1, 2].map(|segment| samples(&Table::read(&file(segment, "imu")))),
            references: references.map(|table| table.rows().map(quaternion).collect()),
            counts,
        }
    }
}

fn samples(imu: &Table) -> Vec<Sample> {
    let sample = |(place, row): (usize, &[f64])| Sample {
        time_s: place as f64 / RATE_HZ,
        gyro_rad_s: [row[0], row[1], row[2]],
        accel_m_s2: [row[3], row[4], row[5]],
        ..Sample::default()
    };
    imu.rows().enumerate().map(sample).collect()
}

fn quaternion(row: &[f64]) -> Option<UnitQuaternion<f64>> {
    let read = || UnitQuaternion::from_quaternion(Quaternion::new(row[0], row[1], row[2], row[3]));
    (row[0] > MISSING).then(read)
}

const RATE_HZ: f64 = 50.0;
/// Stands in the reference where the cameras lost the segment.
const MISSING: f64 = -32768.0;
