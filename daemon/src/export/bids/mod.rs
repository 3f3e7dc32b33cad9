//! Motion-BIDS 1.11.1: raw samples with their metadata, and what was computed from them as a
//! derivative dataset in the same folder.
//!
//! A person is a subject, a visit a session, a test a task, a sensor a tracking system: each sensor
//! has its own clock, so its samples are a file of their own with their times in its first column.

mod derived;
mod events;
mod motion;
mod names;
mod tsv;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::{Disguise, ExportError, Folder, Leaving, Progress, readme};
use crate::store::Reader;

/// The version of the standard that is followed.
const VERSION: &str = "1.11.1";

const FILES: &str = "This is a Motion-BIDS dataset: `sub-…/ses-…/motion` holds the raw samples of each \
     sensor as they came, one file each, and the visit's events with the repetitions; \
     `sub-…_sessions.tsv` holds each visit's means; `derivatives/endarc` holds orientations and \
     angles over time.";

/// Makes it.
///
/// # Errors
/// When something cannot be read or written, or two codes become one label.
pub fn write(
    folder: &Folder,
    reader: &Reader,
    visits: &[Leaving],
    disguise: &Disguise,
) -> Result<(), ExportError> {
    names::distinct(visits)?;
    dataset(folder, visits)?;
    let mut progress = Progress::of(visits.iter().map(|visit| visit.roles().len()).sum());
    for visit in visits {
        events::write(folder, visit)?;
        for role in visit.roles() {
            motion::write(folder, reader, visit, role, disguise)?;
            derived::write(folder, reader, visit, role)?;
            progress.step();
        }
    }
    progress.end();
    for (person, sessions) in by_person(visits) {
        events::write_sessions(folder, &person, &sessions, visits, disguise)?;
    }
    Ok(())
}

fn by_person(visits: &[Leaving]) -> BTreeMap<String, Vec<&Leaving>> {
    let mut persons: BTreeMap<String, Vec<&Leaving>> = BTreeMap::new();
    for visit in visits {
        persons.entry(visit.person.clone()).or_default().push(visit);
    }
    persons
}

/// The files at the top of both datasets.
fn dataset(folder: &Folder, visits: &[Leaving]) -> Result<(), ExportError> {
    json_file(folder, "dataset_description.json", &description("raw", json!({})))?;
    let source = json!({ "SourceDatasets": [{ "URL": "../.." }] });
    let derived = format!("{}/dataset_description.json", derived::FOLDER);
    json_file(folder, &derived, &description("derivative", source))?;
    folder.text("README.md", &readme::page(FILES))?;
    folder.text(&format!("{}/README.md", derived::FOLDER), &readme::page(derived::FILES))?;
    folder.text(".bidsignore", "SHA256SUMS\n")?;
    let persons = by_person(visits).into_keys();
    let rows: Vec<Vec<String>> = persons
        .map(|person| vec![names::subject(&person), "homo sapiens".to_owned(), person])
        .collect();
    tsv::write(folder, "participants.tsv", &["participant_id", "species", "person"], &rows)?;
    json_file(
        folder,
        "participants.json",
        &json!({
            "species": { "Description": "Binomial species name" },
            "person": { "Description": "The person's code" },
        }),
    )
}

fn description(kind: &str, more: Value) -> Value {
    let mut description = json!({
        "Name": "Hip rotation end range, inertial sensors",
        "BIDSVersion": VERSION,
        "DatasetType": kind,
        "GeneratedBy": [{
            "Name": "endarc",
            "Version": env!("CARGO_PKG_VERSION"),
            "Description": readme::CAUTION,
        }],
    });
    if let (Some(description), Value::Object(more)) = (description.as_object_mut(), more) {
        description.extend(more);
    }
    description
}

fn json_file(folder: &Folder, name: &str, value: &Value) -> Result<(), ExportError> {
    folder.write(name, |out| {
        serde_json::to_writer_pretty(&mut *out, value)?;
        Ok(writeln!(out)?)
    })
}
