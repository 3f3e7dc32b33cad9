//! `endarc export`: visits taken out in an open form.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde::Serialize;

use super::{input, stdio};
use crate::error::{Failure, chain};
use crate::export::{
    self, Codes, Dates, Disguise, ExportError, Folder, Format, Leaving, Privacy, Selection, Size,
    Texts, bids, csv, fhir,
};
use crate::folders;
use crate::output::Existing;
use crate::store::records::VisitSummary;
use crate::store::{Code, Reader, VisitId};

/// Take visits out in an open form, with its codebook, for research or another program
///
/// The folder is made beside its place (DIR.partial) and put there when it is whole; after an
/// interruption the same command goes on where it was. Codes of persons are drawn anew for each
/// export, sensors' addresses never leave, and what people typed leaves only if it is asked for.
/// `sha256sum -c SHA256SUMS` in the folder checks that every file is as it was made.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// csv: tables with a codebook (a Frictionless Data Package); bids: raw and derived motion
    /// (Motion-BIDS); fhir: values for a clinical system (FHIR R4)
    #[arg(long, value_name = "csv|bids|fhir")]
    format: Format,
    /// The folder that is made
    #[arg(long, value_name = "DIR")]
    output: PathBuf,
    #[command(flatten)]
    chosen: Chosen,
    #[command(flatten)]
    disguise: Disguised,
    /// csv: texts that a spreadsheet would take for a formula begin with an apostrophe
    #[arg(long)]
    spreadsheet: bool,
    /// csv: raw samples too, a folder for each visit
    #[arg(long)]
    raw: bool,
    /// fhir: codes of other systems that stand beside ours, from the clinic's own copies
    #[arg(long, value_name = "FILE.toml")]
    codes: Option<PathBuf>,
    /// Give up what is in DIR
    #[arg(long)]
    replace: bool,
    /// Print one JSON object that tells what was made
    #[arg(long)]
    json: bool,
}

/// Which visits; nothing said: all that are over.
#[derive(Debug, clap::Args)]
struct Chosen {
    /// These visits
    #[arg(long, value_name = "ID", num_args = 1..)]
    visit: Vec<VisitId>,
    /// Visits of these persons
    #[arg(long, value_name = "CODE", num_args = 1..)]
    person: Vec<Code>,
    /// Visits that began on this day or later (2026-11-25)
    #[arg(long, value_name = "DATE")]
    from: Option<Date>,
    /// Visits that began on this day or before
    #[arg(long, value_name = "DATE")]
    to: Option<Date>,
}

/// How much of whom a visit is of leaves with it.
#[derive(Debug, clap::Args)]
struct Disguised {
    /// Leave persons and raters their codes
    #[arg(long)]
    keep_codes: bool,
    /// Put each person's dates back by a number of days that is drawn for this export
    #[arg(long)]
    shift_dates: bool,
    /// Take out what people typed too: it may name somebody
    #[arg(long)]
    free_text: bool,
}

impl Chosen {
    fn selection(&self) -> Selection {
        Selection {
            visits: self.visit.clone(),
            persons: self.person.clone(),
            from: self.from,
            to: self.to,
        }
    }
}

impl Disguised {
    const fn privacy(&self) -> Privacy {
        Privacy {
            codes: if self.keep_codes { Codes::Kept } else { Codes::Drawn },
            dates: if self.shift_dates { Dates::Shifted } else { Dates::True },
            texts: if self.free_text { Texts::Included } else { Texts::LeftOut },
        }
    }
}

/// What was made: `endarc export --json`.
#[derive(Debug, Serialize)]
struct Made {
    /// The form.
    format: &'static str,
    /// The folder.
    folder: String,
    /// Persons in it.
    persons: usize,
    /// Visits in it.
    visits: usize,
    /// Repetitions in it.
    repetitions: usize,
    /// Files in it.
    files: usize,
    /// Their bytes together.
    bytes: u64,
    /// Whether an export that was interrupted was gone on with.
    resumed: bool,
}

/// Does it.
///
/// # Errors
/// When nothing fits, the database cannot be read, or the folder cannot be made.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    if args.format != Format::Csv && (args.spreadsheet || args.raw) {
        let problem = "--spreadsheet and --raw belong to --format csv: leave them out";
        return Err(Failure::Said(problem.to_owned()));
    }
    let codes = codes(args)?;
    let data = folders::data(data_dir).map_err(|error| Failure::Said(error.to_string()))?;
    let made = make(args, &data, &codes).map_err(|error| Failure::Said(chain(&error)))?;
    if args.json {
        return stdio::answer_json(&made);
    }
    stdio::answer(|out| tell(out, &made))
}

/// The clinic's codes, if it named a file.
fn codes(args: &Args) -> Result<fhir::CodeMap, Failure> {
    let Some(path) = &args.codes else { return Ok(fhir::CodeMap::default()) };
    if args.format != Format::Fhir {
        let problem = "--codes belongs to --format fhir: leave it out";
        return Err(Failure::Said(problem.to_owned()));
    }
    fhir::CodeMap::parse(&input::text(path)?).map_err(|error| Failure::at(path, error))
}

/// The visits that leave: of persons who said no to research only those that were named.
fn chosen(args: &Args, reader: &Reader) -> Result<Vec<VisitSummary>, ExportError> {
    let selection = args.chosen.selection();
    let mut chosen = selection.of(reader.visits()?)?;
    if selection.is_named() {
        return Ok(chosen);
    }
    let refusing = reader.refusing_research()?;
    let all = chosen.len();
    chosen.retain(|visit| !refusing.contains(&visit.person));
    let left_out = all - chosen.len();
    if chosen.is_empty() {
        return Err(ExportError::Nothing(
            "everybody who fits said no to research; name a visit with --visit if it leaves for \
             another purpose",
        ));
    }
    if left_out > 0 {
        stdio::note(&format!("{left_out} visits of persons who said no to research are left out"));
    }
    Ok(chosen)
}

fn make(args: &Args, data: &Path, codes: &fhir::CodeMap) -> Result<Made, ExportError> {
    let reader = Reader::open(data)?;
    let chosen = chosen(args, &reader)?;
    let records = export::records(&reader, &chosen)?;
    let existing = if args.replace { Existing::Replace } else { Existing::Refuse };
    let privacy = args.disguise.privacy();
    let wishes = format!("{} {privacy:?} {} {} {codes:?}", args.format, args.spreadsheet, args.raw);
    let folder = Folder::open(&args.output, existing, &records, &wishes)?;
    let resumed = folder.resumed();
    if resumed {
        stdio::note("going on with an export that was interrupted");
    }
    let disguise = Disguise::new(folder.seed(), privacy);
    let visits = export::leaving(records, &disguise);
    match args.format {
        Format::Csv => {
            let flavour = match args.spreadsheet {
                true => csv::Flavour::Spreadsheet,
                false => csv::Flavour::Machine,
            };
            let wishes = csv::Wishes { flavour, raw: args.raw };
            csv::write(&folder, &reader, &visits, &disguise, wishes)?;
        }
        Format::Bids => bids::write(&folder, &reader, &visits, &disguise)?,
        Format::Fhir => fhir::write(&folder, &reader, &visits, &disguise, codes)?,
    }
    Ok(made(args, &visits, folder.finish()?, resumed))
}

fn made(args: &Args, visits: &[Leaving], size: Size, resumed: bool) -> Made {
    let mut persons: Vec<&str> = visits.iter().map(|visit| visit.person.as_str()).collect();
    persons.dedup();
    Made {
        format: args.format.as_str(),
        folder: args.output.display().to_string(),
        persons: persons.len(),
        visits: visits.len(),
        repetitions: visits.iter().map(|visit| visit.repetitions().count()).sum(),
        files: size.files,
        bytes: size.bytes,
        resumed,
    }
}

fn tell(out: &mut dyn std::io::Write, made: &Made) -> std::io::Result<()> {
    writeln!(
        out,
        "{}: {} visits of {} persons with {} repetitions, {} files, {} bytes",
        made.folder, made.visits, made.persons, made.repetitions, made.files, made.bytes
    )?;
    writeln!(out, "Pseudonymised is not anonymous: hand it on only to whom consent was given for.")
}
