//! `endarc visits`: what is kept.

use std::path::Path;

use serde::Serialize;

use super::stdio;
use super::table::Table;
use crate::error::{Failure, chain};
use crate::folders;
use crate::store::records::VisitSummary;
use crate::store::{ReadError, Reader};

/// List the visits that are kept
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Print one JSON array instead of a table
    #[arg(long)]
    json: bool,
}

/// One visit of `endarc visits --json`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct VisitJson {
    /// The visit's id, a string.
    id: String,
    /// The person's code.
    person: String,
    /// When it began: local time with its offset (RFC 3339).
    started_at: String,
    /// `open`, `closed`, `interrupted` or `truncated`.
    state: &'static str,
}

impl From<&VisitSummary> for VisitJson {
    fn from(visit: &VisitSummary) -> Self {
        Self {
            id: visit.id.to_string(),
            person: visit.person.to_string(),
            started_at: visit.started.rfc3339(),
            state: visit.state.as_str(),
        }
    }
}

/// Does it.
///
/// # Errors
/// When the database cannot be read, or the folder that was named does not exist. A folder without
/// a database holds no visits.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(|error| Failure::Said(error.to_string()))?;
    if data_dir.is_some() && !data.is_dir() {
        return Err(Failure::at(data, "there is no such folder: check --data-dir"));
    }
    let visits = kept(&data)?;
    if args.json {
        return stdio::answer_json(&visits);
    }
    if visits.is_empty() {
        stdio::note(&format!("no visits are kept in {}", data.display()));
        return Ok(());
    }
    let mut table = Table::new(["id", "person", "started", "state"]);
    for VisitJson { id, person, started_at, state } in visits {
        table.push([id, person, started_at, state.to_owned()]);
    }
    stdio::answer(|out| table.write(out))
}

fn kept(data: &Path) -> Result<Vec<VisitJson>, Failure> {
    match Reader::open(data).and_then(|reader| reader.visits()) {
        Ok(visits) => Ok(visits.iter().map(VisitJson::from).collect()),
        Err(ReadError::NoDatabase { .. }) => Ok(Vec::new()),
        Err(error) => Err(Failure::Said(chain(&error))),
    }
}

#[cfg(test)]
mod tests {
    use endarc_protocol::words::TestKind;
    use serde_json::json;

    use super::*;
    use crate::store::WallTime;
    use crate::store::words::{Source, VisitState};

    #[test]
    fn a_visit_prints_as_documented() {
        let visit = VisitSummary {
            id: "7".parse().unwrap(),
            uid: String::new(),
            person: "P-014".parse().unwrap(),
            test: TestKind::ProneHipRotation,
            source: Source::Sim,
            state: VisitState::Interrupted,
            started: WallTime {
                utc: "2026-11-25T08:30:00Z".parse().unwrap(),
                offset_s: 3600,
                zone: None,
            },
            started_s: 0.0,
            ended_s: Some(60.0),
        };
        let expected = json!({
            "id": "7", "person": "P-014", "started_at": "2026-11-25T09:30:00+01:00",
            "state": "interrupted",
        });
        assert_eq!(json!(VisitJson::from(&visit)), expected);
    }

    #[test]
    fn a_folder_that_was_named_must_be_there() {
        let around = tempfile::tempdir().unwrap();
        let args = Args { json: true };
        assert_eq!(kept(around.path()).unwrap(), []);
        let error = run(&args, Some(&around.path().join("gone"))).unwrap_err();
        assert!(error.report().ends_with("there is no such folder: check --data-dir"));
    }
}
