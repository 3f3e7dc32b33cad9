//! `endarc sensors calibrate`: from six rests to a calibration that is kept.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::{guide, known};
use crate::calibrating::{self, Sides};
use crate::commands::input::Motion;
use crate::commands::run::said;
use crate::commands::stdio;
use crate::error::Failure;
use crate::sensor_calibration::SensorCalibration;
use crate::source::SourceSpec;
use crate::store::{self, NewCalibration, Write as Stored};
use crate::{clock, folders};

/// Find a sensor's own errors from rests on each of its six sides, and keep them
///
/// Lay the sensor on something firm, on each of its six sides once, in any order, roughly; let go
/// of it for five seconds each time. Offset and scale of the accelerometer and the gyroscope's offset
/// follow from that. How far the axes are from square is learnt only from further rests askew (on an
/// edge, against a book); without, it stays unknown to half a per cent. What cannot be used is
/// refused with the reason, and nothing is kept.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The sensor's address, or the name it gives itself
    #[arg(value_name = "NAME")]
    sensor: String,
    /// A recording of the rests: time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z
    #[arg(long, value_name = "RESTS.csv", required_unless_present = "source")]
    from: Option<PathBuf>,
    /// Lead through the rests while the sensor sends: sim:SCENARIO.toml or replay:DIR
    #[arg(long, value_name = "SOURCE", conflicts_with = "from")]
    source: Option<SourceSpec>,
    /// How fast a source that is no real sensor plays
    #[command(flatten)]
    pace: crate::commands::pace::PaceArgs,
    /// How warm the sensor is, °C
    #[arg(long, value_name = "C", allow_negative_numbers = true, value_parser = celsius)]
    temperature_c: Option<f64>,
    /// Print the calibration as one JSON object, which `analyse --calibration` takes
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    let (address, rests, name) = match (&args.from, &args.source) {
        (Some(file), _) => {
            let motion = Motion::read(file)?;
            motion.note_rejected();
            (known_as(&data, &args.sensor)?, Sides::of(&motion.samples), None)
        }
        (None, Some(spec)) => guide::lead(spec, &args.sensor, args.pace.pace())?,
        // Clap asks for one of them.
        (None, None) => return Err(Failure::Said("name --from or --source".to_owned())),
    };
    let found = rests.finish().map_err(|error| match &args.from {
        Some(file) => Failure::at(file, error),
        None => said(error),
    })?;
    let now = clock::wall().timestamp();
    let calibration = SensorCalibration::new(&address, now, args.temperature_c, &found);
    let new = NewCalibration { name, calibration: calibration.clone() };
    store::open(&data).map_err(said)?.save(&Stored::Calibration(Box::new(new))).map_err(said)?;
    if args.json {
        stdio::answer_json(&calibration)
    } else {
        stdio::answer(|out| tell(out, &calibration))
    }
}

/// The address of the sensor that is known by an address or name; a new one is known by what it is
/// called here.
fn known_as(data: &Path, called: &str) -> Result<String, Failure> {
    let known = match store::Reader::open(data).and_then(|reader| reader.sensors()) {
        Ok(known) => known,
        // Opening it for writing makes it, or brings it up to date.
        Err(store::ReadError::NoDatabase { .. } | store::ReadError::Older { .. }) => Vec::new(),
        Err(error) => return Err(said(error)),
    };
    Ok(known::find(&known, called)?.unwrap_or_else(|| called.to_owned()))
}

fn tell(out: &mut dyn Write, found: &SensorCalibration) -> io::Result<()> {
    let lines = calibrating::calibration_lines(found).join("\n");
    writeln!(out, "{} is calibrated, {lines}", found.sensor)?;
    writeln!(out, "It counts from the next visit on; a newer one takes its place.")
}

fn celsius(text: &str) -> Result<f64, String> {
    let celsius = text.parse().map_err(|error: std::num::ParseFloatError| error.to_string())?;
    calibrating::temperature(celsius)
}
