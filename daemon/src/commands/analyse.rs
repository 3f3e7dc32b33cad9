//! `endarc analyse`: one leg of a recording to repetitions and what changed.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::builder::{PossibleValuesParser, TypedValueParser};
use endarc_analysis::calibration::{OffsetPrior, OffsetPriors};
use endarc_analysis::levelling::Levelling;
use endarc_analysis::recording::{self, LegResult, Recording, RecordingError};
use endarc_analysis::verdict::verdicts_under;
use endarc_protocol::words::{Side, TestKind};

use super::arguments;
use super::comparison::ComparisonArgs;
use super::input::{self, Motion};
use super::shapes::{LegJson, Values};
use super::{leg_text, stdio};
use crate::error::Failure;
use crate::sensor_calibration::SensorCalibration;

/// The name by which an error tells the pelvis sensor.
const PELVIS: &str = "pelvis";

/// Find the repetitions of one leg in a recording and compare before with after
///
/// EVENTS.csv says what happened when: a `neutral` hold with the shank about vertical, optionally
/// `align-knee` (the knee bent and straightened a few times), then `baseline`, `treatment` and
/// `retest`. What comes out is a measurement, not a diagnosis.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Raw samples of the shank's sensor: time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z
    #[arg(value_name = "SHANK.csv")]
    shank: PathBuf,
    /// What happened when: onset,duration,trial_type and optionally side, in seconds
    #[arg(long, value_name = "EVENTS.csv")]
    events: PathBuf,
    /// The person's own left or right leg
    #[arg(long, value_parser = side_parser())]
    side: Side,
    /// What was measured
    #[arg(long, value_parser = arguments::test_parser())]
    test: TestKind,
    /// Raw samples of the pelvis sensor, if one was worn, on the same clock
    #[arg(long, value_name = "PELVIS.csv")]
    pelvis: Option<PathBuf>,
    /// The calibration of the shank's sensor, as `endarc sensors calibrate --json` printed it; taken
    /// as made on the day of the recording
    #[arg(long, value_name = "FILE.json")]
    calibration: Option<PathBuf>,
    /// The calibration of the pelvis sensor
    #[arg(long, value_name = "FILE.json", requires = "pelvis")]
    pelvis_calibration: Option<PathBuf>,
    /// Sideways tilt of the table in degrees, positive where a prone person's left is higher; it
    /// shifts internal and external rotation in opposite directions
    #[arg(long, value_name = "DEG", allow_negative_numbers = true, value_parser = arguments::tilt)]
    table_tilt_deg: Option<f64>,
    #[command(flatten)]
    comparison: ComparisonArgs,
    /// The values as they were told at the table, instead of the final ones
    #[arg(long)]
    live: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// Does it.
///
/// # Errors
/// When a file is refused, or the recording cannot be analysed.
pub fn run(args: &Args) -> Result<(), Failure> {
    let conditions = args.comparison.conditions(args.side)?;
    let mut shank = Motion::read(&args.shank)?;
    let mut pelvis = args.pelvis.as_deref().map(Motion::read).transpose()?;
    let events = input::events(&args.events)?;
    if shank.samples.len() < 2 {
        return Err(Failure::at(
            &args.shank,
            "line 2: this is the only sample: give the whole recording",
        ));
    }
    let offsets = OffsetPriors {
        shank: correct(Some(&mut shank), args.calibration.as_deref())?,
        pelvis: correct(pelvis.as_mut(), args.pelvis_calibration.as_deref())?,
    };
    let recording = Recording {
        shank: &shank.samples,
        pelvis: pelvis.as_ref().map(|motion| motion.samples.as_slice()),
        events: &events,
        marks: &[],
        side: args.side,
        test: args.test,
        levelling: args.table_tilt_deg.map(Levelling::from_degrees),
        offsets,
    };
    let leg = if args.live {
        recording::analyse_live(&recording)
    } else {
        recording::analyse(&recording)
    };
    for motion in [Some(&shank), pelvis.as_ref()].into_iter().flatten() {
        motion.note_rejected();
    }
    let mut leg = leg.map_err(|error| Failure::at(file_of(args, &error), error))?;
    leg.verdicts = verdicts_under(&conditions, args.side, args.test, &leg.repetitions);
    answer(args, &leg)
}

/// Corrects a sensor's samples with its calibration, if there is one, and says what is known of the
/// offset that they still have.
fn correct(motion: Option<&mut Motion>, file: Option<&Path>) -> Result<OffsetPrior, Failure> {
    let (Some(motion), Some(file)) = (motion, file) else { return Ok(OffsetPrior::default()) };
    let known =
        SensorCalibration::parse(&input::text(file)?).map_err(|error| Failure::at(file, error))?;
    let calibration = known.calibration();
    for sample in &mut motion.samples {
        *sample = calibration.apply(sample);
    }
    Ok(known.offset_prior(known.calibrated_at))
}

/// The file in which to look for what is wrong.
fn file_of<'a>(args: &'a Args, error: &RecordingError) -> &'a Path {
    match (error.sensor(), &args.pelvis) {
        (None, _) => &args.events,
        (Some(PELVIS), Some(pelvis)) => pelvis,
        (Some(_), _) => &args.shank,
    }
}

fn answer(args: &Args, leg: &LegResult) -> Result<(), Failure> {
    let values = if args.live { Values::Live } else { Values::Final };
    if args.json {
        stdio::answer_json(&LegJson::new(args.side, args.test, values, leg))
    } else {
        stdio::answer(|out| {
            heading(out, args, values)?;
            leg_text::write(out, leg)
        })
    }
}

fn heading(out: &mut dyn Write, args: &Args, values: Values) -> io::Result<()> {
    let values = match values {
        Values::Live => "live values",
        Values::Final => "final values",
    };
    let version = endarc_analysis::ALGORITHM_VERSION;
    let Args { side, test, .. } = args;
    writeln!(out, "{test}, {side} leg, {values}, algorithm {version}\n")
}

fn side_parser() -> impl TypedValueParser<Value = Side> {
    let words = Side::ALL.iter().map(|word| word.as_str());
    PossibleValuesParser::new(words).try_map(|text| text.parse::<Side>())
}
