//! `endarc report`: a visit as a page, for the record or for the person.

use std::path::{Path, PathBuf};

use super::stdio;
use crate::error::{Failure, chain};
use crate::folders;
use crate::output::write_file;
use crate::report::{self, Gathered, PaperSize, Reader, Wishes};
use crate::store::VisitId;
use crate::words::Language;

/// Write the report of a visit, as HTML or PDF
///
/// It tells before and after with their errors, what counts as a change and why, what was done, how it
/// was measured, and what it cannot say. It is a measurement, not a diagnosis.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The visit's id, as `endarc visits` lists it
    #[arg(value_name = "VISIT")]
    visit: VisitId,
    /// Write a page of HTML that needs nothing else
    #[arg(long, value_name = "FILE", required_unless_present = "pdf")]
    html: Option<PathBuf>,
    /// Write a PDF
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Whom it is for: the record, or the person, in plain words
    #[arg(long = "for", value_enum, default_value_t, value_name = "WHOM")]
    reader: Reader,
    /// The language
    #[arg(long, value_enum, default_value_t, value_name = "LANGUAGE")]
    lang: Language,
    /// Also tell published ranges of the position, with their source
    #[arg(long)]
    ranges: bool,
    /// The sheet of the PDF
    #[arg(long, value_enum, default_value_t, value_name = "SIZE")]
    paper: PaperSize,
}

/// Does it.
///
/// # Errors
/// When there is no such visit, it cannot be read, or a file cannot be written.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(|error| Failure::Said(error.to_string()))?;
    let visit = Gathered::of(&data, args.visit).map_err(|error| Failure::Said(chain(&error)))?;
    let wishes = Wishes { reader: args.reader, language: args.lang, ranges: args.ranges };
    let document = report::document(&visit, wishes);
    if let Some(file) = &args.html {
        write(file, report::html(&document).map_err(Failure::Said)?.as_bytes())?;
    }
    if let Some(file) = &args.pdf {
        let pdf = report::pdf(&document, args.paper);
        write(file, &pdf.map_err(|error| Failure::Said(error.to_string()))?)?;
    }
    Ok(())
}

fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_file(file, |out| out.write_all(bytes))
        .map_err(|error| Failure::Said(error.to_string()))?;
    stdio::note(&format!("written: {}", file.display()));
    Ok(())
}
