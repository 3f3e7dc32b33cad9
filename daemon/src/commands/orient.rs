//! `endarc orient`: raw motion of one sensor to its orientation.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use endarc_analysis::orientation::{self, LiveFilter, Orientation};
use endarc_protocol::sample::Sample;

use super::input::Motion;
use crate::error::Failure;
use crate::output;

/// Columns of the output, in this order.
const HEADER: &str = "time_s,q_w,q_x,q_y,q_z,incl_sd_deg";

/// Turn one sensor's raw motion into its orientation, row by row
///
/// OUT.csv gets one row per row of MOTION.csv: the time, the unit quaternion from the sensor's
/// frame to the earth's (Z up, heading arbitrary), and one standard uncertainty of the
/// inclination in degrees. A sample that is not finite is rejected and counted on stderr; its row
/// repeats the orientation before it.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Raw samples: time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z in s, m/s² and rad/s
    #[arg(value_name = "MOTION.csv")]
    motion: PathBuf,
    /// Where the orientations go; an existing file is replaced
    #[arg(long, value_name = "OUT.csv")]
    output: PathBuf,
    /// Look ahead too (more exact); without it no row depends on a later one
    #[arg(long)]
    offline: bool,
}

/// Does it.
///
/// # Errors
/// When the input is refused or the output cannot be written.
pub fn run(args: &Args) -> Result<(), Failure> {
    let motion = Motion::read(&args.motion)?;
    refuse_to_overwrite(&args.motion, &args.output)?;
    let orientations = if args.offline {
        orientation::smooth(&motion.samples)
    } else {
        let mut filter = LiveFilter::new();
        let samples = motion.samples.iter();
        samples.map(|sample| filter.push(sample)).collect()
    };
    output::write_file(&args.output, |out| write_rows(out, &motion.samples, &orientations))?;
    motion.note_rejected();
    Ok(())
}

/// Raw data is never lost to a slip of the hand.
fn refuse_to_overwrite(input: &Path, output: &Path) -> Result<(), Failure> {
    match (input.canonicalize(), output.canonicalize()) {
        (Ok(from), Ok(to)) if from == to && to.is_file() => Err(Failure::Said(format!(
            "{}: the output would replace the recording it is made from: name another file",
            output.display()
        ))),
        _ => Ok(()),
    }
}

fn write_rows(
    out: &mut dyn Write,
    samples: &[Sample],
    orientations: &[Orientation],
) -> io::Result<()> {
    writeln!(out, "{HEADER}")?;
    for (sample, orientation) in samples.iter().zip(orientations) {
        let [w, x, y, z] = orientation.quaternion;
        writeln!(
            out,
            "{:.6},{w:.9},{x:.9},{y:.9},{z:.9},{:.6}",
            sample.time_s,
            orientation.inclination_sd_rad.to_degrees()
        )?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_time_quaternion_and_uncertainty_in_degrees() {
        let sample = Sample { time_s: 1.25, ..Sample::default() };
        let orientation = Orientation {
            quaternion: [0.5, -0.5, 0.5, -0.5],
            inclination_sd_rad: std::f64::consts::PI / 180.0,
            accepted: true,
        };
        let mut text = Vec::new();
        write_rows(&mut text, &[sample], &[orientation]).unwrap();
        assert_eq!(
            String::from_utf8(text).unwrap(),
            "time_s,q_w,q_x,q_y,q_z,incl_sd_deg\n\
             1.250000,0.500000000,-0.500000000,0.500000000,-0.500000000,1.000000\n"
        );
    }

    #[test]
    fn a_recording_is_never_replaced_by_what_is_made_from_it() {
        let folder = tempfile::tempdir().unwrap();
        let recording = folder.path().join("shank.csv");
        std::fs::write(&recording, "raw").unwrap();
        let round_about = folder.path().join(".").join("shank.csv");
        assert!(refuse_to_overwrite(&recording, &round_about).is_err());
        assert!(refuse_to_overwrite(&recording, &folder.path().join("out.csv")).is_ok());
    }
}
