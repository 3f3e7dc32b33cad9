//! FHIR R4 (4.0.1): a Bundle for each visit, and the code system that its codes come from.
//!
//! Each repetition is an Observation of its own, tied to the act of measuring; means lean on them.
//! An end range is told along its direction, with the leg as the body site.

mod bundle;
mod concepts;
mod observations;
mod resource;

use serde_json::Value;

pub use concepts::{CodeMap, CodeMapError};

use super::{Disguise, ExportError, Folder, Leaving, Progress, readme};
use crate::store::Reader;

const FILES: &str = "`bundle-….json` is a FHIR R4 Bundle of type collection, one for each visit; \
     `codesystem-hip-rotation.json` holds the codes of ours. Codes of other systems are there only if \
     the clinic gave them.";

/// Makes it.
///
/// # Errors
/// When something cannot be read or written.
pub fn write(
    folder: &Folder,
    reader: &Reader,
    visits: &[Leaving],
    disguise: &Disguise,
    codes: &CodeMap,
) -> Result<(), ExportError> {
    let mut progress = Progress::of(visits.len());
    for visit in visits {
        let consents = reader.consents(visit.id())?;
        let bundle = bundle::of(visit, &consents, disguise, codes);
        json_file(folder, &format!("bundle-{}.json", resource::id(&visit.code)), &bundle)?;
        progress.step();
    }
    progress.end();
    json_file(folder, "codesystem-hip-rotation.json", &codes.system())?;
    folder.text("README.md", &readme::page(FILES))
}

fn json_file(folder: &Folder, name: &str, value: &Value) -> Result<(), ExportError> {
    folder.write(name, |out| {
        serde_json::to_writer_pretty(&mut *out, value)?;
        Ok(writeln!(out)?)
    })
}
