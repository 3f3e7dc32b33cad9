//! One `…_motion.tsv` with the table of its columns: the samples of each sensor in it.

use std::f64::consts::PI;
use std::fs::File;
use std::path::Path;

use endarc_analysis::orientation::STANDARD_GRAVITY_M_S2;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;
use serde_json::Value;

use super::bids::{role, with};
use super::sheet::Sheet;
use super::{ImportError, Sensor};
use crate::export::recordings::{SATURATED, flags};

/// A column, as `…_channels.tsv` tells it.
#[derive(Debug)]
struct Channel {
    name: String,
    kind: String,
    component: String,
    role: Option<SensorRole>,
    /// What one unit is in SI.
    scale: f64,
}

/// Where the readings of one sensor stand.
#[derive(Debug)]
struct Places {
    accel: [usize; 3],
    gyro: [usize; 3],
    /// What one unit of each reading is in SI, accelerations first.
    scales: [f64; 6],
    latency: Option<usize>,
    saturated: Option<usize>,
}

/// Reads every sensor of a file whose place on the body is one of ours and that has both an
/// accelerometer and a gyroscope.
pub(super) fn sensors(stem: &Path, sidecar: &Value) -> Result<Vec<Sensor>, ImportError> {
    let path = with(stem, "_channels.tsv");
    let channels = channels(&path)?;
    let mut roles: Vec<SensorRole> = channels.iter().filter_map(|channel| channel.role).collect();
    roles.sort_unstable();
    roles.dedup();
    let mut sensors = Vec::new();
    for role in roles {
        let Some(places) = places(&channels, role) else { continue };
        let samples = samples(&with(stem, "_motion.tsv"), &places, sidecar)?;
        let label = sidecar["DeviceSerialNumber"].as_str();
        let calibration = match &sidecar["SensorCalibration"] {
            Value::Null => None,
            told => Some(told.to_string().parse().map_err(|error| {
                let problem = format!("SensorCalibration is {error}");
                ImportError::at(&with(stem, "_motion.json"), problem)
            })?),
        };
        sensors.push(Sensor {
            role,
            label: label.unwrap_or(role.as_str()).to_owned(),
            samples,
            calibration,
        });
    }
    Ok(sensors)
}

fn channels(path: &Path) -> Result<Vec<Channel>, ImportError> {
    let mut channels = Vec::new();
    for row in Sheet::tsv(path)?.rows() {
        let kind = row.needed("type")?.to_owned();
        let units = row.text("units").unwrap_or_default();
        let scale = match (kind.as_str(), units) {
            ("ACCEL", "g") => STANDARD_GRAVITY_M_S2,
            ("GYRO", "deg/s") => PI / 180.0,
            ("ACCEL", "m/s^2") | ("GYRO", "rad/s") => 1.0,
            ("ACCEL" | "GYRO", other) => {
                let problem = format!(
                    "the unit '{other}' of a sensor is none of m/s^2, g, rad/s and deg/s: convert it"
                );
                return Err(ImportError::at(path, problem));
            }
            _ => 1.0,
        };
        channels.push(Channel {
            name: row.needed("name")?.to_owned(),
            component: row.text("component").unwrap_or_default().to_owned(),
            role: row.text("tracked_point").and_then(role),
            kind,
            scale,
        });
    }
    Ok(channels)
}

/// Where a sensor's readings stand; `None` where one of the six is missing.
fn places(channels: &[Channel], role: SensorRole) -> Option<Places> {
    let mut found = [0; 6];
    let mut scales = [1.0; 6];
    let wanted =
        ["ACCEL", "GYRO"].iter().flat_map(|kind| ["x", "y", "z"].map(|axis| (*kind, axis)));
    for ((found, scale), (kind, axis)) in found.iter_mut().zip(&mut scales).zip(wanted) {
        let is =
            |one: &Channel| one.role == Some(role) && one.kind == kind && one.component == axis;
        *found = channels.iter().position(is)?;
        *scale = channels.get(*found)?.scale;
    }
    let [ax, ay, az, gx, gy, gz] = found;
    Some(Places {
        accel: [ax, ay, az],
        gyro: [gx, gy, gz],
        scales,
        latency: channels.iter().position(|one| one.kind == "LATENCY"),
        saturated: channels.iter().position(|one| one.name == SATURATED),
    })
}

fn samples(path: &Path, places: &Places, sidecar: &Value) -> Result<Vec<Sample>, ImportError> {
    let file =
        File::open(path).map_err(|source| ImportError::Io { path: path.to_owned(), source })?;
    let rate_hz = sidecar["SamplingFrequency"].as_f64().filter(|rate_hz| *rate_hz > 0.0);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(b'\t')
        .quoting(false)
        .has_headers(false)
        .from_reader(file);
    let mut samples: Vec<Sample> = Vec::new();
    for (index, record) in reader.records().enumerate() {
        let record =
            record.map_err(|source| ImportError::Table { path: path.to_owned(), source })?;
        let cell = |place: usize| record.get(place).unwrap_or_default();
        let number = |place: usize| number(path, index, cell(place));
        let time_s = match (places.latency, rate_hz) {
            (Some(place), _) => number(place)?,
            (None, Some(rate_hz)) => index as f64 / rate_hz,
            (None, None) => {
                let problem = "neither a LATENCY column nor a SamplingFrequency says when";
                return Err(ImportError::at(path, problem));
            }
        };
        if samples.last().is_some_and(|last| last.time_s >= time_s) || !time_s.is_finite() {
            let problem = format!("line {}: the time {time_s} does not come after", index + 1);
            return Err(ImportError::at(path, problem));
        }
        let mut sample = Sample { time_s, ..Sample::default() };
        let readings = sample.accel_m_s2.iter_mut().chain(&mut sample.gyro_rad_s);
        let from = places.accel.iter().chain(&places.gyro).zip(&places.scales);
        for (reading, (place, scale)) in readings.zip(from) {
            *reading = number(*place)? * scale;
        }
        sample.flags = flags(places.saturated.and_then(|at| cell(at).parse().ok()).unwrap_or(0));
        samples.push(sample);
    }
    Ok(samples)
}

/// A reading; one that is not there is no number, and its sample is left out.
fn number(path: &Path, index: usize, text: &str) -> Result<f64, ImportError> {
    if text == "n/a" {
        return Ok(f64::NAN);
    }
    text.parse().map_err(|_refused| {
        ImportError::at(path, format!("line {}: '{text}' is no number", index + 1))
    })
}
