//! CSV tables with their codebook: a Frictionless Data Package.
//!
//! UTF-8, lines end with a line feed, quoting of RFC 4180, `.` decimal, an empty cell is a missing
//! value. With raw samples, each visit also is a folder of Motion CSVs and an Events CSV.

use std::io::Write;

use serde_json::{Value, json};

use super::tables::{Cell, Head, Kind, Table, all};
use super::{Disguise, ExportError, Folder, Leaving, readme, recordings};
use crate::store::Reader;

/// For whom cells are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Flavour {
    /// As they are.
    #[default]
    Machine,
    /// A text that a spreadsheet would take for a formula begins with an apostrophe.
    Spreadsheet,
}

/// What a CSV export holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wishes {
    /// For whom.
    pub flavour: Flavour,
    /// Whether raw samples leave too.
    pub raw: bool,
}

const FILES: &str = "`repetitions.csv` has one row for each repetition. `datapackage.json` is the \
     codebook: it describes every table and column, with units. `recordings/`, if it is there, holds \
     the raw samples: a folder for each visit with a Motion CSV for each sensor (seconds, m/s², \
     rad/s, in the sensor's own axes, as they came; `saturated` is 1 for the \
     accelerometer, 2 for the gyroscope, 3 for both) and the visit's spans.";

/// Makes it.
///
/// # Errors
/// When something cannot be read or written.
pub fn write(
    folder: &Folder,
    reader: &Reader,
    visits: &[Leaving],
    disguise: &Disguise,
    wishes: Wishes,
) -> Result<(), ExportError> {
    let tables = all(visits, disguise);
    for table in &tables {
        folder.write(&path(table), |out| write_table(out, table, wishes.flavour))?;
    }
    let mut resources = Vec::new();
    for table in &tables {
        resources.push(resource(folder, table)?);
    }
    if wishes.raw {
        for recording in recordings::write(folder, reader, visits)? {
            resources.push(recording_resource(folder, &recording)?);
        }
    }
    folder.text("README.md", &readme::page(FILES))?;
    folder.write("datapackage.json", |out| {
        serde_json::to_writer_pretty(&mut *out, &package(&resources))?;
        Ok(writeln!(out)?)
    })
}

fn path(table: &Table) -> String {
    format!("{}.csv", table.name)
}

fn write_table(out: &mut dyn Write, table: &Table, flavour: Flavour) -> Result<(), ExportError> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(table.heads.iter().map(|head| head.name))?;
    for row in &table.rows {
        csv.write_record(row.iter().map(|cell| text(cell, flavour)))?;
    }
    Ok(csv.flush()?)
}

fn text(cell: &Cell, flavour: Flavour) -> String {
    match cell {
        Cell::Empty => String::new(),
        // Only texts: a negative number must stay a number.
        Cell::Text(text) if flavour == Flavour::Spreadsheet && is_formula(text) => {
            format!("'{text}")
        }
        Cell::Text(text) => text.clone(),
        Cell::Number(number) => number.to_string(),
        Cell::Integer(number) => number.to_string(),
        Cell::Boolean(truth) => truth.to_string(),
    }
}

/// Whether a spreadsheet would compute a text (OWASP, "CSV Injection").
fn is_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r'])
}

fn package(resources: &[Value]) -> Value {
    json!({
        "profile": "data-package",
        "name": "hip-rotation-end-range",
        "title": "Hip rotation end range",
        "description": format!("{} {} {}", readme::CAUTION, readme::CODES, readme::ANGLES),
        "version": env!("CARGO_PKG_VERSION"),
        "sources": [{ "title": readme::PROGRAM }],
        "resources": resources,
    })
}

fn resource(folder: &Folder, table: &Table) -> Result<Value, ExportError> {
    let (bytes, sum) = folder.checksum(&path(table))?;
    let refers: Vec<Value> = table
        .refers
        .iter()
        .map(|refers| {
            json!({
                "fields": refers.columns,
                "reference": { "resource": refers.table, "fields": refers.columns },
            })
        })
        .collect();
    let mut schema = json!({
        "fields": table.heads.iter().map(field).collect::<Vec<_>>(),
        "missingValues": [""],
        "foreignKeys": refers,
    });
    if !table.key.is_empty() {
        schema["primaryKey"] = json!(table.key);
    }
    Ok(json!({
        "profile": "tabular-data-resource",
        "name": table.name,
        "description": table.about,
        "path": path(table),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": bytes,
        "hash": format!("sha256:{sum}"),
        "schema": schema,
    }))
}

fn field(head: &Head) -> Value {
    let mut constraints = json!({ "required": head.required });
    let kind = match &head.kind {
        Kind::Text => "string",
        Kind::Word(words) => {
            constraints["enum"] = json!(words);
            "string"
        }
        Kind::Number => "number",
        Kind::Integer(least) => {
            constraints["minimum"] = json!(least);
            "integer"
        }
        Kind::Boolean => "boolean",
        Kind::Time => "datetime",
        Kind::Object => "object",
    };
    let mut field = json!({
        "name": head.name, "type": kind, "description": head.about, "constraints": constraints,
    });
    if let Some(unit) = head.unit {
        field["unit"] = json!(unit);
    }
    field
}

/// A Motion CSV in the package: without a schema, for a validator takes longer over a hundred
/// thousand rows of numbers than everything else together; its checksum is checked.
fn recording_resource(folder: &Folder, path: &str) -> Result<Value, ExportError> {
    let (bytes, sum) = folder.checksum(path)?;
    let name = path.trim_end_matches(".csv").replace('/', "-").to_ascii_lowercase();
    Ok(json!({
        "name": name,
        "description": "Raw samples of one sensor: time_s (s), acc_x, acc_y, acc_z (m/s2, specific \
                        force), gyr_x, gyr_y, gyr_z (rad/s), in the sensor's own right-handed axes",
        "path": path,
        "mediatype": "text/csv",
        "bytes": bytes,
        "hash": format!("sha256:{sum}"),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_texts_are_guarded_and_only_for_spreadsheets() {
        let formula = Cell::Text("=1+1".to_owned());
        assert_eq!(text(&formula, Flavour::Machine), "=1+1");
        assert_eq!(text(&formula, Flavour::Spreadsheet), "'=1+1");
        assert_eq!(text(&Cell::Text("-x".to_owned()), Flavour::Spreadsheet), "'-x");
        assert_eq!(text(&Cell::Text("x-1".to_owned()), Flavour::Spreadsheet), "x-1");
        assert_eq!(text(&Cell::Number(-1.5), Flavour::Spreadsheet), "-1.5");
    }

    #[test]
    fn numbers_come_back_as_they_were() {
        for number in [0.1 + 0.2, -1e-7, 1.0 / 3.0, 1e9] {
            let written = text(&Cell::Number(number), Flavour::Machine);
            assert_eq!(written.parse::<f64>().unwrap().to_bits(), number.to_bits(), "{written}");
            assert!(!written.contains('e'), "{written}");
        }
    }
}
