//! `endarc import`: recordings that come back, or from elsewhere, analysed here.

use std::path::{Path, PathBuf};

use endarc_protocol::words::{Side, TestKind};
use serde::Serialize;

use super::run::{runtime, said};
use super::{arguments, stdio};
use crate::error::Failure;
use crate::export::Progress;
use crate::finalise::{Finalised, finalise};
use crate::import::{self, ImportError, Recording};
use crate::store::rows::AuditEntry;
use crate::store::{self, Code, VisitId, Write, Writer, WriterHandle};
use crate::{clock, folders};

/// The person's code where neither the recording nor the command line names one.
const NOBODY: &str = "unknown";

/// Take recordings in and compute their repetitions here
///
/// DIR is a Motion-BIDS dataset, or what `endarc export --format csv --raw` made, or a folder with
/// Motion CSVs and an Events CSV. Each recording becomes a visit of its own, also where it was taken
/// in before. Nothing is kept of a folder in which something cannot be read.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The folder
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// The person's code, never a name [default: the recording's, or `unknown`]
    #[arg(long, value_name = "CODE")]
    person: Option<Code>,
    /// What was measured, where the recording does not say so
    #[arg(long, value_parser = arguments::test_parser())]
    test: Option<TestKind>,
    /// Which leg shank.csv was worn on
    #[arg(long, value_name = "left|right")]
    side: Option<Side>,
    /// Print one JSON object that tells what came in
    #[arg(long)]
    json: bool,
}

/// A visit that came in, as `--json` prints it.
#[derive(Debug, Serialize)]
struct CameIn {
    /// Its id here, a string.
    id: String,
    /// The person's code.
    person: String,
    /// What it was called where it came from.
    recording: String,
    /// What was measured.
    test: TestKind,
    /// Repetitions that were found.
    repetitions: usize,
    /// Samples that were left out because a value was not a number.
    samples_left_out: usize,
    /// Legs that could not be analysed, and why.
    failed: Vec<String>,
}

/// Does it.
///
/// # Errors
/// When something in the folder cannot be read, or the data folder cannot be used.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    let recordings = import::read(&args.folder, args.side).map_err(said)?;
    let visits = runtime()?.block_on(take_in(args, &data, recordings))?;
    if args.json {
        return stdio::answer_json(&serde_json::json!({ "visits": visits }));
    }
    stdio::answer(|out| visits.iter().try_for_each(|visit| tell(out, visit)))
}

async fn take_in(
    args: &Args,
    data: &Path,
    recordings: Vec<Recording>,
) -> Result<Vec<CameIn>, Failure> {
    for recording in &recordings {
        test(args, recording)?;
    }
    let writer = Writer::start(store::open(data).map_err(said)?).map_err(said)?;
    let all = every(args, data, &writer.handle(), recordings).await;
    let closed = writer.close().await;
    let all = all?;
    closed.map_err(said)?;
    Ok(all)
}

/// What was measured: the recording says it, or the command line.
fn test(args: &Args, recording: &Recording) -> Result<TestKind, Failure> {
    let told = recording.test.or(args.test);
    told.ok_or_else(|| said(ImportError::NoTest(recording.name.clone())))
}

async fn every(
    args: &Args,
    data: &Path,
    writer: &WriterHandle,
    recordings: Vec<Recording>,
) -> Result<Vec<CameIn>, Failure> {
    let mut progress = Progress::of(recordings.len());
    let mut all = Vec::new();
    for recording in recordings {
        all.push(one(args, data, writer, recording).await?);
        progress.step();
    }
    progress.end();
    Ok(all)
}

async fn one(
    args: &Args,
    data: &Path,
    writer: &WriterHandle,
    recording: Recording,
) -> Result<CameIn, Failure> {
    let test = test(args, &recording)?;
    let person = match (&args.person, &recording.person) {
        (Some(person), _) | (None, Some(person)) => person.clone(),
        (None, None) => NOBODY.parse().map_err(said)?,
    };
    let (name, samples_left_out) = (recording.name.clone(), recording.left_out);
    let visit = import::keep(writer, recording, person.clone(), test).await.map_err(said)?;
    let finalised = finalise(data, writer, visit).await.map_err(said)?;
    writer.save(Write::Audit(entry(visit, &name))).await.map_err(said)?;
    Ok(CameIn {
        id: visit.to_string(),
        person: person.to_string(),
        recording: name,
        test,
        repetitions: finalised.counting().count(),
        samples_left_out,
        failed: failed(&finalised),
    })
}

fn entry(visit: VisitId, name: &str) -> AuditEntry {
    AuditEntry {
        at: clock::wall().timestamp(),
        actor: None,
        action: "import".to_owned(),
        subject: format!("visit {visit}"),
        detail: Some(name.to_owned()),
    }
}

fn failed(finalised: &Finalised) -> Vec<String> {
    finalised.failed.iter().map(|(side, why)| format!("{side} leg: {why}")).collect()
}

fn tell(out: &mut dyn std::io::Write, visit: &CameIn) -> std::io::Result<()> {
    writeln!(
        out,
        "{} is visit {} of {}, with {} repetitions",
        visit.recording, visit.id, visit.person, visit.repetitions
    )?;
    if visit.samples_left_out > 0 {
        let left_out = visit.samples_left_out;
        writeln!(out, "  {left_out} samples were left out: a value was not a number")?;
    }
    visit.failed.iter().try_for_each(|why| writeln!(out, "  {why}"))
}
