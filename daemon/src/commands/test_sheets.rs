//! `endarc tests`: what can be measured, and how it is done.

use std::io::{self, Write};

use endarc_analysis::test_sheet::{GENERAL_CAUTIONS, Published, TestSheet, test_sheet};
use endarc_protocol::words::TestKind;
use serde::Serialize;

use super::{arguments, stdio};
use crate::error::Failure;

/// Say what can be measured and how it is done
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The test to tell of [default: a line for each]
    #[arg(value_parser = arguments::test_parser())]
    test: Option<TestKind>,
    /// Add published mean values of the position, with their source; they are context, not limits
    #[arg(long, requires = "test")]
    published: bool,
    /// Print one JSON array instead of text
    #[arg(long)]
    json: bool,
}

/// Does it.
///
/// # Errors
/// When nothing can be printed.
pub fn run(args: &Args) -> Result<(), Failure> {
    let sheets = TestKind::ALL
        .iter()
        .filter(|test| args.test.is_none_or(|only| only == **test))
        .map(|test| test_sheet(*test));
    if args.json {
        let told: Vec<_> = sheets.map(|sheet| SheetJson::new(sheet, args.published)).collect();
        return stdio::answer_json(&told);
    }
    stdio::answer(|out| {
        for sheet in sheets {
            match args.test {
                None => writeln!(out, "{:<30} {}", sheet.test.as_str(), sheet.position)?,
                Some(_) => tell(out, sheet, args.published)?,
            }
        }
        Ok(())
    })
}

fn tell(out: &mut dyn Write, sheet: &TestSheet, published: bool) -> io::Result<()> {
    writeln!(out, "{}\n\n{}\n", sheet.test, sheet.position)?;
    for (number, step) in (1..).zip(sheet.steps) {
        writeln!(out, "{number}. {step}")?;
    }
    writeln!(out, "\n{}\n{}\n\nCautions", sheet.signs, sheet.measured_by)?;
    for caution in GENERAL_CAUTIONS.iter().chain(sheet.cautions) {
        writeln!(out, "- {caution}")?;
    }
    if published {
        writeln!(out, "\nPublished means of this position (context, not limits)")?;
        if sheet.published.is_empty() {
            writeln!(out, "- none known here")?;
        }
        for one in sheet.published {
            writeln!(out, "- {}", line(one))?;
        }
    }
    Ok(())
}

fn line(one: &Published) -> String {
    let part = |name: &str, value: Option<f64>| {
        value.map(|value| format!("{name} {value:.1}°")).into_iter().collect::<String>()
    };
    let sd = one.total_sd_deg.map_or_else(String::new, |sd| format!(" (SD {sd:.1}°)"));
    let values = [
        part("internal", one.internal_deg),
        part("external", one.external_deg),
        part("total", one.total_deg) + &sd,
    ];
    let values: Vec<_> = values.into_iter().filter(|value| !value.is_empty()).collect();
    format!("{}: {} – {}", one.people, values.join(", "), one.source)
}

/// One test of `endarc tests --json`.
#[derive(Debug, Serialize)]
struct SheetJson {
    test: TestKind,
    position: &'static str,
    steps: &'static [&'static str],
    signs: &'static str,
    measured_by: &'static str,
    cautions: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    published: Option<Vec<PublishedJson>>,
}

/// Published means, degrees.
#[derive(Debug, Serialize)]
struct PublishedJson {
    source: &'static str,
    people: &'static str,
    internal_deg: Option<f64>,
    external_deg: Option<f64>,
    total_deg: Option<f64>,
    total_sd_deg: Option<f64>,
}

impl SheetJson {
    fn new(sheet: &TestSheet, published: bool) -> Self {
        let means = |one: &Published| PublishedJson {
            source: one.source,
            people: one.people,
            internal_deg: one.internal_deg,
            external_deg: one.external_deg,
            total_deg: one.total_deg,
            total_sd_deg: one.total_sd_deg,
        };
        Self {
            test: sheet.test,
            position: sheet.position,
            steps: sheet.steps,
            signs: sheet.signs,
            measured_by: sheet.measured_by,
            cautions: GENERAL_CAUTIONS.iter().chain(sheet.cautions).copied().collect(),
            published: published.then(|| sheet.published.iter().map(means).collect()),
        }
    }
}
