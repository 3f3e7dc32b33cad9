//! What a re-analysis changed, as a person reads it and as JSON.

use std::io::{self, Write};

use endarc_protocol::words::{Direction, Side};
use serde::Serialize;
use serde_json::{Value, json};

use super::table::Table;
use crate::reanalysis::{ComparisonChange, Extent, RepetitionChange, extent};
use crate::store::VisitId;
use crate::store::rows::RepetitionValue;

/// Changes below this are not listed for a person, degrees: they are told as 0.00°.
const SHOWN_DEG: f64 = 0.005;

/// A visit that was analysed again.
#[derive(Debug)]
pub(super) struct Reanalysed {
    /// Which.
    pub(super) visit: VisitId,
    /// Whose: a code.
    pub(super) person: String,
    /// Its repetitions before and now.
    pub(super) repetitions: Vec<RepetitionChange>,
    /// Its comparisons before and now.
    pub(super) comparisons: Vec<ComparisonChange>,
    /// Legs that could not be analysed, and why: they keep what they had.
    pub(super) failed: Vec<(Side, String)>,
}

/// Tells what changed in one visit.
pub(super) fn tell(out: &mut dyn Write, visit: &Reanalysed) -> io::Result<()> {
    let Extent { both, found_anew, not_found, mean_deg, greatest_deg } = extent(&visit.repetitions);
    writeln!(
        out,
        "visit {} of {}, algorithm {}: {both} repetitions changed by {mean_deg:.2}° on average, \
         {greatest_deg:.2}° at most; {found_anew} found anew, {not_found} not found any more",
        visit.visit,
        visit.person,
        versions(visit),
    )?;
    for (side, why) in &visit.failed {
        writeln!(out, "{side} leg: not analysed ({why}); it keeps what it had")?;
    }
    let mut table = Table::new(["side", "phase", "direction", "no.", "before", "now", "change"]);
    let shown = |one: &&RepetitionChange| one.change_deg().is_none_or(|by| by.abs() >= SHOWN_DEG);
    let mut any = false;
    for one in visit.repetitions.iter().filter(shown) {
        any = true;
        table.push(row(one));
    }
    if any {
        table.write(out)?;
    }
    for one in visit.comparisons.iter().filter(|one| finding_changed(one)) {
        let before = one.before.as_ref().map_or("none", |verdict| verdict.finding.as_str());
        let way = one.direction.map_or("total", Direction::as_str);
        writeln!(out, "{} {way}: {before} → {}", one.side, one.after.finding)?;
    }
    writeln!(out)
}

fn finding_changed(one: &ComparisonChange) -> bool {
    one.before.as_ref().map(|verdict| verdict.finding) != Some(one.after.finding)
}

/// From which version to which.
fn versions(visit: &Reanalysed) -> String {
    let of = |value: fn(&RepetitionChange) -> &Option<RepetitionValue>| {
        let mut all: Vec<&str> = visit
            .repetitions
            .iter()
            .filter_map(|one| value(one).as_ref())
            .map(|value| value.algorithm_version.as_str())
            .collect();
        all.sort_unstable();
        all.dedup();
        if all.is_empty() { "none".to_owned() } else { all.join(" and ") }
    };
    format!("{} → {}", of(|one| &one.before), of(|one| &one.after))
}

fn row(one: &RepetitionChange) -> [String; 7] {
    let (side, phase, direction, number) = one.key();
    let value = |value: &Option<RepetitionValue>| {
        value.as_ref().map_or_else(
            || "–".to_owned(),
            |value| format!("{:.2}° ± {:.2}°", value.end_range_deg, value.uncertainty_deg),
        )
    };
    [
        side.to_string(),
        phase.to_string(),
        direction.to_string(),
        number.to_string(),
        value(&one.before),
        value(&one.after),
        one.change_deg().map_or_else(|| "–".to_owned(), |by| format!("{by:+.2}°")),
    ]
}

/// Everything, as `--json` prints it.
pub(super) fn json(algorithm_version: &str, visits: &[Reanalysed]) -> Value {
    json!({
        "algorithm_version": algorithm_version,
        "visits": visits.iter().map(visit_json).collect::<Vec<_>>(),
    })
}

#[derive(Serialize)]
struct ValueJson<'a> {
    kind: &'static str,
    algorithm_version: &'a str,
    end_range_deg: f64,
    uncertainty_deg: f64,
}

impl<'a> From<&'a RepetitionValue> for ValueJson<'a> {
    fn from(value: &'a RepetitionValue) -> Self {
        Self {
            kind: value.kind.as_str(),
            algorithm_version: &value.algorithm_version,
            end_range_deg: value.end_range_deg,
            uncertainty_deg: value.uncertainty_deg,
        }
    }
}

fn visit_json(visit: &Reanalysed) -> Value {
    let Extent { both, found_anew, not_found, mean_deg, greatest_deg } = extent(&visit.repetitions);
    json!({
        "id": visit.visit.to_string(),
        "person": visit.person,
        "found_both_times": both,
        "found_anew": found_anew,
        "not_found_any_more": not_found,
        "mean_change_deg": mean_deg,
        "greatest_change_deg": greatest_deg,
        "repetitions": visit.repetitions.iter().map(repetition_json).collect::<Vec<_>>(),
        "comparisons": visit.comparisons.iter().map(comparison_json).collect::<Vec<_>>(),
        "failed": visit.failed.iter().map(|(side, why)| json!({ "side": side, "why": why }))
            .collect::<Vec<_>>(),
    })
}

fn repetition_json(one: &RepetitionChange) -> Value {
    let (side, phase, direction, number) = one.key();
    json!({
        "side": side,
        "phase": phase,
        "direction": direction,
        "repetition": number,
        "before": one.before.as_ref().map(ValueJson::from),
        "after": one.after.as_ref().map(ValueJson::from),
        "change_deg": one.change_deg(),
    })
}

fn comparison_json(one: &ComparisonChange) -> Value {
    let told = |verdict: &crate::store::rows::Verdict| {
        json!({
            "algorithm_version": verdict.algorithm_version,
            "change_deg": verdict.change_deg,
            "finding": verdict.finding.as_str(),
        })
    };
    json!({
        "side": one.side,
        "direction": one.direction.map_or("total", Direction::as_str),
        "before": one.before.as_ref().map(told),
        "after": told(&one.after),
    })
}
