//! What a visit came to, in plain words.

use std::io::{self, Write};

use endarc_analysis::result::{Finding, Verdict};
use endarc_analysis::verdict::ALWAYS_SAID;
use endarc_protocol::words::Side;

use super::outcome::Outcome;
use crate::visit::strings;

/// What an instrument cannot know about itself; stands beside its own uncertainty.
const METHOD: &str = "\
Not in that figure is the method itself. The knee gives a little sideways, and turns the shank as
much as the hip would; a pelvis that rolls unseen does the same; and each time the end is felt
anew, by one hand, on one day. That is what the limit beside each change stands for: below it, a
change cannot be told from error, however finely the instrument reads.";

/// Stands under every summary.
const CAUTIONS: &str = "\
Stop on pain. Ask for consent before you touch. This is not a diagnostic or medical device, and
nothing above is a diagnosis. Local rules and licensed practice come first.";

/// Writes left and right, before and after, what can be called a change, how exact it is, and the
/// cautions.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_summary(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    writeln!(out, "\nVisit {}, person {}, simulated.\n", outcome.visit, outcome.person)?;
    for side in Side::ALL {
        let of_leg: Vec<&Verdict> =
            outcome.verdicts.iter().filter(|verdict| verdict.side == *side).collect();
        if !of_leg.is_empty() {
            leg(out, *side, &of_leg)?;
        }
    }
    between_legs(out, outcome)?;
    found(out, outcome)?;
    instrument(out, outcome)?;
    writeln!(out, "{ALWAYS_SAID}\n{CAUTIONS}")
}

fn leg(out: &mut dyn Write, side: Side, verdicts: &[&Verdict]) -> io::Result<()> {
    writeln!(out, "{}", capitalised(side.as_str()) + " leg")?;
    for verdict in verdicts {
        let what = verdict.direction.map_or("total rotation", strings::direction);
        writeln!(
            out,
            "  {what:<24} before {:>6}   after {:>6}   change {:>6}   {}",
            maybe(verdict.baseline_mean_deg.map(|deg| format!("{deg:.1}°"))),
            maybe(verdict.retest_mean_deg.map(|deg| format!("{deg:.1}°"))),
            maybe(verdict.change_deg.map(|deg| format!("{deg:+.1}°"))),
            called(verdict.finding),
        )?;
    }
    for verdict in verdicts {
        let what = verdict.direction.map_or("total", |direction| direction.as_str());
        let named = if verdict.primary { " (named before treatment)" } else { "" };
        writeln!(out, "  {what}{named}: {}", verdict.statement)?;
    }
    writeln!(out)
}

/// What a finding lets one say.
const fn called(finding: Finding) -> &'static str {
    match finding {
        Finding::ExceedsError => "more than error",
        Finding::WithinError => "cannot be told from error",
        Finding::NotEnough => "too few to compare",
        Finding::NoClaim => "cannot be compared",
    }
}

fn between_legs(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    for one in outcome.sides.iter().filter(|one| one.direction.is_none()) {
        writeln!(out, "Left minus right, total rotation, {}: {}", one.phase, one.statement)?;
    }
    if outcome.sides.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "A table that tilts sideways moves internal and external rotation against each other, but not \
         their total.\n"
    )?;
    for one in &outcome.controlled {
        let what = one.direction.map_or("total rotation", strings::direction);
        writeln!(out, "{}: {}", capitalised(what), one.statement)?;
    }
    writeln!(out)
}

/// How the measured repetitions stand against what the simulated body did.
fn found(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    let matches = &outcome.repetitions;
    let happened = matches.matched.len() + matches.missed.len();
    if matches.matched.is_empty() {
        return writeln!(
            out,
            "The simulated hands made {happened} repetitions; none of them was measured.\n"
        );
    }
    let worst_deg = matches
        .matched
        .iter()
        .map(|(measured, truth)| (measured.end_range_deg - truth.end_range_deg).abs())
        .fold(0.0, f64::max);
    writeln!(
        out,
        "The simulated hands made {happened} repetitions; {} were measured, {} missed and {} \
         invented.\nThe largest error of an end range is {worst_deg:.1}°.\n",
        matches.matched.len(),
        matches.missed.len(),
        matches.invented.len(),
    )
}

fn instrument(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    let measured = outcome.repetitions.matched.iter().map(|(measured, _)| measured);
    let Some(widest_deg) = measured.map(|one| one.uncertainty_deg).reduce(f64::max) else {
        return Ok(());
    };
    writeln!(
        out,
        "The instrument's own uncertainty is at most {widest_deg:.1}° for one end range (one \
         standard uncertainty).\n{METHOD}\n"
    )
}

fn maybe(text: Option<String>) -> String {
    text.unwrap_or_else(|| "–".to_owned())
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
