//! One leg's result as text for a person.

use std::io::{self, Write};

use endarc_analysis::recording::LegResult;
use endarc_analysis::result::{AlignmentKind, AlignmentReport, Dose, Repetition, Verdict};

use super::shapes;
use super::table::Table;

/// Stands under every result that a person reads.
const CAUTION: &str = "This is a measurement, not a diagnosis. Uncertainties are one standard \
                       uncertainty of the instrument;\nthe knee's sideways give and an unseen \
                       pelvis roll come on top.";

/// Writes alignment, repetitions, treatment and verdicts.
///
/// # Errors
/// Whatever the writer reports.
pub(super) fn write(out: &mut dyn Write, leg: &LegResult) -> io::Result<()> {
    alignment(out, &leg.alignment)?;
    repetitions(out, &leg.repetitions)?;
    treatment(out, &leg.doses)?;
    verdicts(out, &leg.verdicts)?;
    writeln!(out, "\n{CAUTION}")
}

fn alignment(out: &mut dyn Write, report: &AlignmentReport) -> io::Result<()> {
    match report.kind {
        AlignmentKind::KneeBends => {
            write!(out, "Alignment by knee bends, residual {}", degrees(report.residual_deg))?
        }
        AlignmentKind::Quick => write!(
            out,
            "Quick alignment by the neutral hold alone (knee bends make it more exact)"
        )?,
    }
    writeln!(
        out,
        ", axis uncertainty {}; the neutral hold reads {}.\n",
        degrees(report.uncertainty_deg),
        degrees(report.neutral_deg)
    )
}

fn repetitions(out: &mut dyn Write, repetitions: &[Repetition]) -> io::Result<()> {
    if repetitions.is_empty() {
        return writeln!(out, "No repetition was found in baseline or retest.");
    }
    let mut table = Table::new([
        "phase",
        "direction",
        "end range",
        "±",
        "at",
        "hold",
        "knee",
        "pelvis roll",
        "notes",
    ]);
    for one in repetitions {
        let flags: Vec<_> = one.flags.iter().map(|flag| flag.as_str()).collect();
        table.push([
            one.phase.to_string(),
            one.direction.to_string(),
            degrees(one.end_range_deg),
            degrees(one.uncertainty_deg),
            seconds(one.end_range_at_s),
            seconds(one.hold_s),
            maybe_degrees(one.knee_flexion_deg),
            maybe_degrees(one.pelvis_roll_deg),
            flags.join(", "),
        ]);
    }
    table.write(out)
}

fn treatment(out: &mut dyn Write, doses: &[Dose]) -> io::Result<()> {
    for dose in doses {
        writeln!(
            out,
            "\nTreatment from {}: {} long, {} movements to and fro, between {} and {} \
             (internal positive).",
            seconds(dose.start_s),
            seconds(dose.duration_s),
            dose.oscillations,
            degrees(dose.min_deg),
            degrees(dose.max_deg)
        )?;
    }
    Ok(())
}

fn verdicts(out: &mut dyn Write, verdicts: &[Verdict]) -> io::Result<()> {
    if verdicts.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    let mut table = Table::new(["direction", "before", "after", "change", "95 % interval"]);
    for one in verdicts {
        table.push([
            shapes::direction(one).to_owned(),
            mean(one.baseline_mean_deg, one.baseline_count),
            mean(one.retest_mean_deg, one.retest_count),
            maybe(one.change_deg.map(|change| format!("{change:+.1}°"))),
            maybe(one.ci95_deg.map(|[low, high]| format!("{low:+.1}° to {high:+.1}°"))),
        ]);
    }
    table.write(out)?;
    writeln!(out)?;
    for one in verdicts {
        writeln!(out, "{}: {}", shapes::direction(one), one.statement)?;
    }
    writeln!(out)?;
    for one in verdicts {
        writeln!(
            out,
            "{}: a change up to {} cannot be told from error ({}).",
            shapes::direction(one),
            degrees(one.mdc95_deg),
            one.mdc95_source
        )?;
    }
    Ok(())
}

fn mean(value_deg: Option<f64>, count: usize) -> String {
    maybe(value_deg.map(|mean| format!("{mean:.1}° ({count})")))
}

fn degrees(value_deg: f64) -> String {
    format!("{value_deg:.1}°")
}

fn maybe_degrees(value_deg: Option<f64>) -> String {
    maybe(value_deg.map(degrees))
}

fn seconds(value_s: f64) -> String {
    format!("{value_s:.1} s")
}

/// An absent value is a dash.
fn maybe(text: Option<String>) -> String {
    text.unwrap_or_else(|| "–".to_owned())
}
