//! One leg's result as text for a person.

use std::io::{self, Write};

use endarc_analysis::recording::LegResult;
use endarc_analysis::result::{AlignmentKind, AlignmentReport, Dose, Repetition, Verdict};
use endarc_analysis::verdict::{ALWAYS_SAID, More};

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
    writeln!(out, "\n{CAUTION}\n{ALWAYS_SAID}")
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
        write!(
            out,
            "\nTreatment from {}: {} long, {} movements to and fro",
            seconds(dose.start_s),
            seconds(dose.duration_s),
            dose.oscillations,
        )?;
        match (dose.min_deg, dose.max_deg) {
            (Some(min), Some(max)) => writeln!(
                out,
                ", between {} and {} (internal positive).",
                degrees(min),
                degrees(max)
            )?,
            _ => writeln!(out, "; the leg was not raised.")?,
        }
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
        writeln!(out, "{}: {}{}", shapes::direction(one), one.statement, more(one.more))?;
    }
    writeln!(out)?;
    limits(out, verdicts)?;
    writeln!(out, "{}", error_rate(verdicts))
}

/// Whether going on would tell more.
fn more(more: Option<More>) -> String {
    let Some(more @ More::Repetitions(count)) = more else { return String::new() };
    let plural = if count == 1 { "" } else { "s" };
    format!(" {count} more repetition{plural} could settle it, about {:.0} s.", more.duration_s())
}

/// For which of several comparisons the 95 % hold.
fn error_rate(verdicts: &[Verdict]) -> String {
    match verdicts.iter().find(|one| one.primary) {
        Some(one) => format!(
            "The primary measure, named before treatment, is {}: the 95 % hold for it, the others \
             describe.",
            shapes::direction(one)
        ),
        None => {
            "No primary measure was named before treatment: the 95 % hold for each comparison by \
                 itself, so of several one may exceed by chance."
                .to_owned()
        }
    }
}

/// Each limit with its source; directions that share one are named together.
fn limits(out: &mut dyn Write, verdicts: &[Verdict]) -> io::Result<()> {
    let limit = |one: &Verdict| {
        let value = degrees(one.mdc95_deg);
        format!("a change up to {value} cannot be told from error ({}).", one.mdc95_source)
    };
    let mut limits: Vec<(String, Vec<&str>)> = Vec::new();
    for one in verdicts {
        match limits.iter_mut().find(|(text, _)| *text == limit(one)) {
            Some((_, directions)) => directions.push(shapes::direction(one)),
            None => limits.push((limit(one), vec![shapes::direction(one)])),
        }
    }
    for (text, directions) in limits {
        writeln!(out, "{}: {text}", directions.join(", "))?;
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

#[cfg(test)]
mod tests {
    use endarc_analysis::result::{Finding, Flag};
    use endarc_protocol::words::{Direction, Phase, Side};

    use super::*;

    fn leg() -> LegResult {
        let alignment = AlignmentReport {
            kind: AlignmentKind::KneeBends,
            knee_axis: [0.0, 1.0, 0.0],
            long_axis: [0.0, 0.0, 1.0],
            residual_deg: 0.84,
            uncertainty_deg: 0.5,
            neutral_deg: -1.25,
        };
        let repetition = Repetition {
            side: Side::Right,
            phase: Phase::Baseline,
            direction: Direction::External,
            end_range_deg: 41.26,
            uncertainty_deg: 0.61,
            start_s: 19.8,
            end_range_at_s: 21.4,
            hold_s: 0.0,
            knee_flexion_deg: Some(88.0),
            pelvis_roll_deg: None,
            barriers: None,
            flags: vec![Flag::Touched, Flag::PelvisNotSeen],
        };
        let verdict = Verdict {
            side: Side::Right,
            direction: None,
            baseline_count: 1,
            retest_count: 0,
            baseline_mean_deg: Some(41.26),
            retest_mean_deg: None,
            change_deg: None,
            ci95_deg: None,
            ci95_repetitions_deg: None,
            mdc95_deg: 8.0,
            mdc90_deg: 6.7,
            primary: false,
            loosened_deg: None,
            more: None,
            mdc95_source: "an invented source".to_owned(),
            finding: Finding::NotEnough,
            statement: "Not enough repetitions to compare.".to_owned(),
        };
        LegResult {
            alignment,
            repetitions: vec![repetition],
            doses: Vec::new(),
            verdicts: vec![verdict],
        }
    }

    fn lines(leg: &LegResult) -> Vec<String> {
        let mut text = Vec::new();
        write(&mut text, leg).unwrap();
        String::from_utf8(text).unwrap().lines().map(str::to_owned).collect()
    }

    fn has(lines: &[String], words: &[&str]) -> bool {
        lines.iter().any(|line| line.split_whitespace().collect::<Vec<_>>() == words)
    }

    #[test]
    fn values_stand_under_their_names_with_what_is_absent_dashed() {
        let lines = lines(&leg());
        let row = "baseline external 41.3° 0.6° 21.4 s 0.0 s 88.0° – touched, pelvis-not-seen";
        assert!(has(&lines, &row.split(' ').collect::<Vec<_>>()), "{lines:#?}");
        assert!(has(&lines, &["total", "41.3°", "(1)", "–", "–", "–"]), "{lines:#?}");
    }

    #[test]
    fn the_caution_and_the_limit_with_its_source_are_always_said() {
        let lines = lines(&leg());
        assert!(lines.iter().any(|line| line.contains("not a diagnosis")), "{lines:#?}");
        assert!(lines.iter().any(|line| line.contains("8.0°") && line.contains("an invented")));
    }

    #[test]
    fn directions_that_share_a_limit_share_its_line() {
        let total = leg().verdicts.remove(0);
        let internal = Verdict { direction: Some(Direction::Internal), ..total.clone() };
        let lines = lines(&LegResult { verdicts: vec![internal, total], ..leg() });
        let limits = lines.iter().filter(|line| line.contains("an invented source"));
        assert_eq!(limits.count(), 1, "{lines:#?}");
        assert!(lines.iter().any(|line| line.starts_with("internal, total: a change up to 8.0°")));
    }

    #[test]
    fn no_repetition_is_said_in_words() {
        let leg = LegResult { repetitions: Vec::new(), ..leg() };
        assert!(lines(&leg)[2].starts_with("No repetition was found"));
    }
}
