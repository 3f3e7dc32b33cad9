//! `endarc tables`: how level treatment tables are.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Subcommand;
use endarc_analysis::calibration::Rest;
use endarc_analysis::levelling::{TableLevel, rest_on_table};
use endarc_analysis::orientation::STANDARD_GRAVITY_M_S2;
use endarc_protocol::sample::Sample;
use jiff::Timestamp;

use super::input::{self, Motion};
use super::run::said;
use super::stdio;
use super::table::Table;
use crate::calibrating;
use crate::error::{Failure, chain};
use crate::levelled::LevelledTable;
use crate::sensor_calibration::SensorCalibration;
use crate::store::{self, NewTableLevel, ReadError, Reader, TableRecord, Write as Stored};
use crate::{clock, folders};

/// Measure how level a treatment table is, and list those that were
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Level(LevelArgs),
    List(ListArgs),
}

/// Measure a table's tilt with a sensor laid on it, and keep it with the table
///
/// Lay the sensor on the middle of the table, its x axis towards the head end and z up (by eye is
/// enough), let go of it and record for ten seconds. Turn it by half a turn on the same place and
/// record again: what the sensor has of its own cancels then. It holds until the table is moved.
#[derive(Debug, clap::Args)]
struct LevelArgs {
    /// The table's name, e.g. "room 2"
    #[arg(value_name = "NAME")]
    table: String,
    /// The rest with x towards the head end: time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z
    #[arg(long, value_name = "FIRST.csv")]
    from: PathBuf,
    /// The rest after half a turn
    #[arg(long, value_name = "SECOND.csv", required_unless_present = "calibration")]
    turned: Option<PathBuf>,
    /// The sensor's calibration; with it one rest is enough, but less certain
    #[arg(long, value_name = "FILE.json")]
    calibration: Option<PathBuf>,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// List the tables with their last measured tilt
#[derive(Debug, clap::Args)]
struct ListArgs {
    /// Print one JSON array instead of a table
    #[arg(long)]
    json: bool,
}

/// Does it.
///
/// # Errors
/// When a recording is refused, or the data folder cannot be used.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    match &args.command {
        Command::Level(args) => level(args, &data),
        Command::List(args) => list(args, &data),
    }
}

fn level(args: &LevelArgs, data: &Path) -> Result<(), Failure> {
    let name = calibrating::table_name(&args.table).map_err(Failure::Said)?;
    let levelled_at = clock::wall().timestamp();
    let level = measure(args, levelled_at)?;
    let new = NewTableLevel { table: name.clone(), levelled_at, level };
    store::open(data).map_err(said)?.save(&Stored::TableLevel(new)).map_err(said)?;
    let record = TableRecord { name, levelled_at, level };
    if args.json {
        stdio::answer_json(&LevelledTable::from(&record))
    } else {
        stdio::answer(|out| tell(out, &record))
    }
}

fn measure(args: &LevelArgs, now: Timestamp) -> Result<TableLevel, Failure> {
    let known = args.calibration.as_deref().map(calibration).transpose()?;
    let first = rest(&args.from, known.as_ref())?;
    let level = match (&args.turned, &known) {
        (Some(file), _) => TableLevel::from_turned(&first, &rest(file, known.as_ref())?),
        (None, Some(known)) => {
            let offset_sd_m_s2 = known.offset_prior(now).largest_sd_m_s2();
            TableLevel::from_one_rest(&first, offset_sd_m_s2 / STANDARD_GRAVITY_M_S2)
        }
        // Clap asks for one of them.
        (None, None) => return Err(Failure::Said("name --turned or --calibration".to_owned())),
    };
    level.map_err(|error| Failure::at(args.turned.as_ref().unwrap_or(&args.from), error))
}

fn calibration(file: &Path) -> Result<SensorCalibration, Failure> {
    SensorCalibration::parse(&input::text(file)?).map_err(|error| Failure::at(file, error))
}

fn rest(file: &Path, known: Option<&SensorCalibration>) -> Result<Rest, Failure> {
    let motion = Motion::read(file)?;
    motion.note_rejected();
    let samples: Vec<Sample> = match known.map(SensorCalibration::calibration) {
        Some(calibration) => motion.samples.iter().map(|s| calibration.apply(s)).collect(),
        None => motion.samples,
    };
    rest_on_table(&samples).map_err(|error| Failure::at(file, error))
}

fn tell(out: &mut dyn Write, found: &TableRecord) -> io::Result<()> {
    writeln!(out, "{}", found.name)?;
    for line in calibrating::level_lines(&found.level) {
        writeln!(out, "{line}")?;
    }
    writeln!(out, "It holds until the table is moved.")
}

fn list(args: &ListArgs, data: &Path) -> Result<(), Failure> {
    let tables = match Reader::open(data).and_then(|reader| reader.tables()) {
        Ok(tables) => tables,
        Err(ReadError::NoDatabase { .. }) => Vec::new(),
        Err(error) => return Err(Failure::Said(chain(&error))),
    };
    let tables: Vec<LevelledTable> = tables.iter().map(LevelledTable::from).collect();
    if args.json {
        return stdio::answer_json(&tables);
    }
    if tables.is_empty() {
        stdio::note(&format!("no tables are kept in {}", data.display()));
        return Ok(());
    }
    let mut table = Table::new(["table", "sideways", "head-foot", "measured"]);
    for one in tables {
        let angle = |value: f64, sd: f64| format!("{value:+.2}° ± {sd:.2}°");
        table.push([
            one.table,
            angle(one.sideways_deg, one.sideways_sd_deg),
            angle(one.head_foot_deg, one.head_foot_sd_deg),
            one.levelled_at,
        ]);
    }
    stdio::answer(|out| table.write(out))
}
