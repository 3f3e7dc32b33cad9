//! Raw samples of one sensor: `…_motion.tsv`, what its columns are, and how they were recorded.

use std::io::Write;

use endarc_analysis::test_sheet::test_sheet;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;
use serde_json::{Value, json};

use super::json_file;
use super::names::{self, tracked_point};
use super::tsv::{self, ABSENT};
use crate::export::recordings::saturated;
use crate::export::{Disguise, ExportError, Folder, Leaving};
use crate::store::Reader;

/// A column of a motion file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Channel {
    pub(super) name: &'static str,
    pub(super) component: &'static str,
    pub(super) kind: &'static str,
    pub(super) units: &'static str,
    /// In which frame it is expressed, if in one.
    pub(super) frame: &'static str,
}

pub(super) const fn channel(
    name: &'static str,
    component: &'static str,
    kind: &'static str,
    units: &'static str,
    frame: &'static str,
) -> Channel {
    Channel { name, component, kind, units, frame }
}

pub(super) const LATENCY: Channel = channel("latency", ABSENT, "LATENCY", "s", ABSENT);

const CHANNELS: [Channel; 8] = [
    LATENCY,
    channel("acc_x", "x", "ACCEL", "m/s^2", "sensor"),
    channel("acc_y", "y", "ACCEL", "m/s^2", "sensor"),
    channel("acc_z", "z", "ACCEL", "m/s^2", "sensor"),
    channel("gyr_x", "x", "GYRO", "rad/s", "sensor"),
    channel("gyr_y", "y", "GYRO", "rad/s", "sensor"),
    channel("gyr_z", "z", "GYRO", "rad/s", "sensor"),
    channel("saturated", ABSENT, "MISC", ABSENT, ABSENT),
];

/// Writes the four files.
pub(super) fn write(
    folder: &Folder,
    reader: &Reader,
    visit: &Leaving,
    role: SensorRole,
    disguise: &Disguise,
) -> Result<(), ExportError> {
    let name = names::of_sensor(visit, role);
    let rate = Rate::of(reader, visit, role)?;
    folder.write(&format!("{name}_motion.tsv"), |out| rows(out, reader, visit, role))?;
    channels(folder, &name, &CHANNELS, role, &rate)?;
    json_file(folder, &format!("{name}_motion.json"), &sidecar(visit, role, &rate, disguise))
}

fn rows(
    out: &mut dyn Write,
    reader: &Reader,
    visit: &Leaving,
    role: SensorRole,
) -> Result<(), ExportError> {
    for chunk in reader.raw_samples(visit.id(), role) {
        for Sample { time_s, accel_m_s2: [ax, ay, az], gyro_rad_s: [gx, gy, gz], flags } in chunk? {
            let saturated = saturated(flags);
            writeln!(out, "{time_s}\t{ax}\t{ay}\t{az}\t{gx}\t{gy}\t{gz}\t{saturated}")?;
        }
    }
    Ok(())
}

/// Writes what the columns are.
pub(super) fn channels(
    folder: &Folder,
    name: &str,
    channels: &[Channel],
    role: SensorRole,
    rate: &Rate,
) -> Result<(), ExportError> {
    let row = |channel: &Channel| {
        [
            channel.name,
            channel.component,
            channel.kind,
            tracked_point(role),
            channel.units,
            channel.frame,
        ]
        .map(str::to_owned)
        .into_iter()
        .chain([rate.nominal_hz.to_string()])
        .collect()
    };
    let rows: Vec<Vec<String>> = channels.iter().map(row).collect();
    let header = [
        "name",
        "component",
        "type",
        "tracked_point",
        "units",
        "reference_frame",
        "sampling_frequency",
    ];
    tsv::write(folder, &format!("{name}_channels.tsv"), &header, &rows)?;
    json_file(folder, &format!("{name}_channels.json"), &frames())
}

fn frames() -> Value {
    let frame = |description: &str, axes: &str| {
        json!({
            "Description": description,
            "SpatialAxes": axes,
            "RotationRule": "right-hand",
            "RotationOrder": ABSENT,
        })
    };
    json!({
        "reference_frame": {
            "Description": "The frame in which a channel is expressed",
            "Levels": {
                "sensor": frame("The sensor's own axes, as it was strapped on", ABSENT),
                "global": frame("Z up along gravity, heading arbitrary: no magnetometer is used", "FLU"),
            },
        },
    })
}

/// How fast a sensor sent.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rate {
    /// By its commonest interval, Hz.
    pub(super) nominal_hz: f64,
    /// Samples that came by the time they came in, Hz.
    effective_hz: f64,
}

impl Rate {
    /// Looks at the times of all samples.
    pub(super) fn of(
        reader: &Reader,
        visit: &Leaving,
        role: SensorRole,
    ) -> Result<Self, ExportError> {
        let mut times_s = Vec::new();
        for chunk in reader.raw_samples(visit.id(), role) {
            times_s.extend(chunk?.iter().map(|sample| sample.time_s));
        }
        Ok(Self::from_times(&times_s))
    }

    fn from_times(times_s: &[f64]) -> Self {
        let mut intervals_s: Vec<f64> =
            times_s.iter().zip(times_s.iter().skip(1)).map(|(one, next)| next - one).collect();
        let span_s: f64 = intervals_s.iter().sum();
        let middle = intervals_s.len() / 2;
        intervals_s.sort_by(f64::total_cmp);
        let hz = |interval_s: f64| if interval_s > 0.0 { interval_s.recip() } else { 0.0 };
        let tenths = |hz: f64| (hz * 10.0).round() / 10.0;
        Self {
            nominal_hz: tenths(intervals_s.get(middle).copied().map_or(0.0, hz)),
            effective_hz: hz(span_s / intervals_s.len().max(1) as f64),
        }
    }
}

fn sidecar(visit: &Leaving, role: SensorRole, rate: &Rate, disguise: &Disguise) -> Value {
    let sheet = test_sheet(visit.record.summary.test);
    let sensor = visit.record.sensors.iter().rev().find(|sensor| sensor.role == role);
    let mut sidecar = common(visit, rate, &CHANNELS);
    if let Some(sidecar) = sidecar.as_object_mut() {
        sidecar.insert("TaskDescription".to_owned(), json!(sheet.steps.join(" ")));
        sidecar.insert("Instructions".to_owned(), json!(sheet.position));
        if let Some(sensor) = sensor {
            let code = disguise.sensor(&sensor.address);
            sidecar.insert("DeviceSerialNumber".to_owned(), json!(code));
            if let Some(mut calibration) = sensor.calibration.clone() {
                calibration.sensor = code;
                calibration.calibrated_at =
                    disguise.moment(visit.inside(), calibration.calibrated_at);
                sidecar.insert("SensorCalibration".to_owned(), json!(calibration));
            }
        }
    }
    sidecar
}

/// What every motion file's sidecar says.
pub(super) fn common(visit: &Leaving, rate: &Rate, channels: &[Channel]) -> Value {
    let count = |kind: &str| channels.iter().filter(|channel| channel.kind == kind).count();
    json!({
        "TaskName": visit.record.summary.test.as_str(),
        "SamplingFrequency": rate.nominal_hz,
        "SamplingFrequencyEffective": rate.effective_hz,
        "TrackingSystemName": "inertial sensor",
        "TrackedPointsCount": 1,
        "MotionChannelCount": channels.len(),
        "ACCELChannelCount": count("ACCEL"),
        "GYROChannelCount": count("GYRO"),
        "ORNTChannelCount": count("ORNT"),
        "JNTANGChannelCount": count("JNTANG"),
        "LATENCYChannelCount": count("LATENCY"),
        "MAGNChannelCount": 0,
        "ANGACCELChannelCount": 0,
        "POSChannelCount": 0,
        "VELChannelCount": 0,
        "MiscChannelCount": count("MISC"),
        "MissingValues": ABSENT,
        "SubjectArtefactDescription": ABSENT,
        "SoftwareVersions": visit.record.program_version,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hole_does_not_change_the_nominal_rate() {
        let mut times_s: Vec<f64> = (0..1000).map(|number| f64::from(number) * 0.01).collect();
        times_s.drain(400..600);
        let rate = Rate::from_times(&times_s);
        assert_eq!(rate.nominal_hz, 100.0);
        assert!((rate.effective_hz - 80.0).abs() < 0.1, "{}", rate.effective_hz);
        assert_eq!(Rate::from_times(&[1.0]).nominal_hz, 0.0);
    }
}
