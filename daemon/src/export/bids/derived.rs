//! What is computed of one sensor's samples over time: its orientation, and for a shank the angles.

use std::io::Write;

use endarc_analysis::hip::{Posture, ShankAxes, posture};
use endarc_analysis::orientation::{Orientation, smooth};
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;
use nalgebra::{Unit, Vector3};

use super::json_file;
use super::motion::{Channel, LATENCY, Rate, channel, channels, common};
use super::names;
use super::tsv::{self, ABSENT};
use crate::corrections::Corrections;
use crate::export::{ExportError, Folder, Leaving};
use crate::store::Reader;

/// The derivative dataset's folder.
pub(super) const FOLDER: &str = "derivatives/endarc";

/// What is in it.
pub(super) const FILES: &str = "Orientations from the whole recording, corrected with each sensor's \
     calibration where it has one, and the angles of a shank whose place on the leg is known. Hip \
     rotation is the shank's, with the table's tilt taken out, and the pelvis' roll still in it. In \
     the supine 90-90 position gravity does not show it, and it is not here.";

const CHANNELS: [Channel; 8] = [
    LATENCY,
    channel("quat_w", "quat_w", "ORNT", ABSENT, "global"),
    channel("quat_x", "quat_x", "ORNT", ABSENT, "global"),
    channel("quat_y", "quat_y", "ORNT", ABSENT, "global"),
    channel("quat_z", "quat_z", "ORNT", ABSENT, "global"),
    channel("inclination_sd", ABSENT, "MISC", "deg", ABSENT),
    channel("hip_rotation", ABSENT, "JNTANG", "deg", ABSENT),
    channel("knee_flexion", ABSENT, "JNTANG", "deg", ABSENT),
];

/// Writes it.
pub(super) fn write(
    folder: &Folder,
    reader: &Reader,
    visit: &Leaving,
    role: SensorRole,
) -> Result<(), ExportError> {
    let name = format!("{FOLDER}/{}_acq-angles", names::of_sensor(visit, role));
    let rate = Rate::of(reader, visit, role)?;
    folder.write(&format!("{name}_motion.tsv"), |out| {
        let samples = corrected(reader, visit, role)?;
        let leg = Leg::of(visit, role);
        for (sample, orientation) in samples.iter().zip(smooth(&samples)) {
            row(out, sample, &orientation, leg.as_ref())?;
        }
        Ok(())
    })?;
    channels(folder, &name, &CHANNELS, role, &rate)?;
    json_file(folder, &format!("{name}_motion.json"), &common(visit, &rate, &CHANNELS))
}

fn corrected(
    reader: &Reader,
    visit: &Leaving,
    role: SensorRole,
) -> Result<Vec<Sample>, ExportError> {
    let corrections = Corrections::of(&visit.record);
    let mut samples = Vec::new();
    for chunk in reader.raw_samples(visit.id(), role) {
        samples.extend(chunk?.iter().map(|sample| corrections.correct(role, sample)));
    }
    Ok(samples)
}

fn row(
    out: &mut dyn Write,
    sample: &Sample,
    orientation: &Orientation,
    leg: Option<&Leg<'_>>,
) -> Result<(), ExportError> {
    let [w, x, y, z] = orientation.quaternion;
    let sd_deg = orientation.inclination_sd_rad.to_degrees();
    let up = orientation.up();
    let rotation = tsv::cell(leg.map(|leg| format!("{:.4}", leg.rotation_deg(&up))));
    let flexion = tsv::cell(leg.map(|leg| format!("{:.4}", leg.flexion_deg(&up))));
    let time_s = sample.time_s;
    writeln!(out, "{time_s}\t{w:.9}\t{x:.9}\t{y:.9}\t{z:.9}\t{sd_deg:.4}\t{rotation}\t{flexion}")?;
    Ok(())
}

/// A shank whose place on the leg is known, in a position in which gravity shows its angle.
struct Leg<'a> {
    visit: &'a Leaving,
    side: endarc_protocol::words::Side,
    axes: ShankAxes,
    level_rad: f64,
}

impl<'a> Leg<'a> {
    fn of(visit: &'a Leaving, role: SensorRole) -> Option<Self> {
        let (side, test) = (role.side()?, visit.record.summary.test);
        let alignment = visit.record.alignments.iter().rev().find(|one| one.role == role)?;
        let long = Vector3::from(alignment.long_axis);
        let upright = match posture(test) {
            Posture::Prone => -long,
            Posture::Hanging => long,
            Posture::Supine9090 => return None,
        };
        let knee = Unit::try_new(Vector3::from(alignment.knee_axis), 1e-6)?;
        let level_rad = visit
            .record
            .levelling()
            .map_or(0.0, |levelling| levelling.level_correction_rad(side, test));
        Some(Self { visit, side, axes: ShankAxes::new(knee, &upright), level_rad })
    }

    fn rotation_deg(&self, up: &Vector3<f64>) -> f64 {
        let test = self.visit.record.summary.test;
        (self.axes.hip_rotation(up, self.side, test) + self.level_rad).to_degrees()
    }

    fn flexion_deg(&self, up: &Vector3<f64>) -> f64 {
        self.axes.knee_flexion(up).to_degrees()
    }
}
