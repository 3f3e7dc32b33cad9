//! `endarc reanalyse`: the present algorithm on what was recorded before.

use std::path::{Path, PathBuf};

use endarc_analysis::ALGORITHM_VERSION;

use super::reanalysed::{self, Reanalysed};
use super::run::{runtime, said};
use super::stdio;
use crate::error::Failure;
use crate::export::{ExportError, Progress, Selection};
use crate::finalise::finalise;
use crate::store::rows::AuditEntry;
use crate::store::{self, Reader, VisitId, Write, Writer, WriterHandle};
use crate::{clock, folders, reanalysis};

/// Compute stored visits anew from their raw samples, and tell what changed
///
/// Angles and repetitions are computed by the present algorithm, by the code that computes them at
/// a visit's end. What other versions of the algorithm made of a repetition stays beside it, and
/// the new value is the one to report. Raw samples are never changed. Nothing else may be using the
/// data folder meanwhile.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// These visits [default: all]
    #[arg(value_name = "VISIT")]
    visits: Vec<VisitId>,
    /// Print one JSON object with every repetition before and after
    #[arg(long)]
    json: bool,
}

/// Does it.
///
/// # Errors
/// When the data folder is in use or cannot be read, or a visit is not there.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    // Before the folder is taken, so that none is made where there was none.
    if let Err(error @ store::ReadError::NoDatabase { .. }) = Reader::open(&data) {
        return Err(said(error));
    }
    let all = runtime()?.block_on(in_order(args, data))?;
    if args.json {
        return stdio::answer_json(&reanalysed::json(ALGORITHM_VERSION, &all));
    }
    stdio::answer(|out| all.iter().try_for_each(|visit| reanalysed::tell(out, visit)))
}

async fn in_order(args: &Args, data: PathBuf) -> Result<Vec<Reanalysed>, Failure> {
    let writer = Writer::start(store::open(&data).map_err(said)?).map_err(said)?;
    let all = every(args, &data, &writer.handle()).await;
    let closed = writer.close().await;
    let all = all?;
    closed.map_err(said)?;
    Ok(all)
}

async fn every(
    args: &Args,
    data: &Path,
    writer: &WriterHandle,
) -> Result<Vec<Reanalysed>, Failure> {
    let reader = Reader::open(data).map_err(said)?;
    let selection = Selection { visits: args.visits.clone(), ..Selection::default() };
    let chosen = match selection.of(reader.visits().map_err(said)?) {
        Err(ExportError::Nothing(_)) => {
            return Err(Failure::Said("no visit is kept yet: record one first".to_owned()));
        }
        chosen => chosen.map_err(said)?,
    };
    let mut progress = Progress::of(chosen.len());
    let mut all = Vec::new();
    for visit in chosen {
        all.push(one(&reader, data, writer, visit.id).await?);
        progress.step();
    }
    progress.end();
    Ok(all)
}

async fn one(
    reader: &Reader,
    data: &Path,
    writer: &WriterHandle,
    visit: VisitId,
) -> Result<Reanalysed, Failure> {
    let gone = || Failure::Said(format!("visit {visit} is not in the store any more"));
    let before = reader.visit(visit).map_err(said)?.ok_or_else(gone)?;
    let finalised = finalise(data, writer, visit).await.map_err(said)?;
    let entry = AuditEntry {
        at: clock::wall().timestamp(),
        actor: None,
        action: "reanalyse".to_owned(),
        subject: format!("visit {visit}"),
        detail: Some(format!("algorithm {ALGORITHM_VERSION}")),
    };
    // Saved, not sent: everything before it is on disk then too, and can be read back.
    writer.save(Write::Audit(entry)).await.map_err(said)?;
    let after = reader.visit(visit).map_err(said)?.ok_or_else(gone)?;
    Ok(Reanalysed {
        person: after.summary.person.to_string(),
        repetitions: reanalysis::repetitions(&before, &after),
        comparisons: reanalysis::comparisons(&before, &after),
        failed: finalised.failed.iter().map(|(side, why)| (*side, why.to_string())).collect(),
        visit,
    })
}
