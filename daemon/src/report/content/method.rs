//! How it was measured, and what that cannot show.

use endarc_protocol::words::SensorRole;

use super::phrases::{self, capital};
use crate::report::gathered::Gathered;
use crate::store::records::{RepetitionRecord, VisitSensor};
use crate::store::words::ValueKind;
use crate::words::Words;

/// One fact each.
pub(super) fn facts(visit: &Gathered, words: &Words) -> Vec<(String, String)> {
    let end = visit.visit.end_criterion.map_or_else(
        || words.get("not.recorded").to_owned(),
        |end| words.word("criterion", end).to_owned(),
    );
    let facts = [
        ("position", capital(words.word("test", visit.test()))),
        ("end", capital(&end)),
        ("force", capital(words.get("report.method.force.text"))),
        ("error", capital(&error(visit, words))),
        ("alignment", alignment(visit, words)),
        ("sensors", sensors(visit, words)),
        ("pelvis", capital(words.get(pelvis(visit)))),
        ("table", capital(&table(visit, words))),
        ("flags", flags(visit, words)),
        ("struck", struck(visit, words)),
        ("lost", lost(visit, words)),
        ("values", capital(words.get(values(visit)))),
    ];
    facts.map(|(name, value)| (words.word("report.method", name).to_owned(), value)).into()
}

/// The instrument's part, as the mean standard uncertainty of what counts.
fn error(visit: &Gathered, words: &Words) -> String {
    let count = visit.counting.len();
    let sum: f64 = visit.counting.iter().map(|one| one.uncertainty_deg).sum();
    let mean =
        if count == 0 { words.get("nothing").to_owned() } else { words.angle(sum / count as f64) };
    words.fill("report.method.error.text", &[("instrument", &mean)])
}

fn alignment(visit: &Gathered, words: &Words) -> String {
    let newest = |role: SensorRole| {
        visit.visit.alignments.iter().rev().find(|alignment| alignment.role == role)
    };
    let of = |side| {
        let one = newest(SensorRole::shank(side))?;
        let places = [
            ("side", &*phrases::side(words, side)),
            ("kind", words.word("kind", one.kind)),
            ("residual", &*words.angle(one.residual_deg)),
            ("uncertainty", &*words.angle(one.uncertainty_deg)),
        ];
        Some(words.fill("report.method.alignment.one", &places))
    };
    joined(words, visit.sides().into_iter().filter_map(of).collect(), "not.recorded")
}

fn sensors(visit: &Gathered, words: &Words) -> String {
    let one = |sensor: &VisitSensor| {
        let calibration = match &sensor.calibration {
            Some(known) => {
                let day = phrases::day(words, visit, known.calibrated_at);
                words.fill("report.method.calibrated", &[("date", &day)])
            }
            None => words.get("report.method.uncalibrated").to_owned(),
        };
        let places = [
            ("role", words.word("role", sensor.role)),
            ("name", sensor.name.as_deref().unwrap_or(&sensor.address)),
            ("calibration", &calibration),
        ];
        words.fill("report.method.sensor", &places)
    };
    joined(words, visit.visit.sensors.iter().map(one).collect(), "not.recorded")
}

fn pelvis(visit: &Gathered) -> &'static str {
    let seen = visit.counting.iter().any(|one| one.pelvis_roll_deg.is_some());
    if seen { "report.method.pelvis.seen" } else { "report.method.pelvis.unseen" }
}

fn table(visit: &Gathered, words: &Words) -> String {
    if let Some(table) = &visit.visit.table {
        let level = &table.level;
        let places = [
            ("name", table.name.clone()),
            ("tilt", words.change(level.sideways_rad.to_degrees())),
            ("sd", words.angle(level.sideways_sd_rad.to_degrees())),
            ("date", phrases::day(words, visit, table.levelled_at)),
        ];
        let places: Vec<(&str, &str)> =
            places.iter().map(|(name, value)| (*name, value.as_str())).collect();
        return words.fill("report.method.table.level", &places);
    }
    match visit.visit.table_tilt_deg {
        Some(tilt) => words.fill("report.method.table.told", &[("tilt", &words.change(tilt))]),
        None => words.get("report.method.table.none").to_owned(),
    }
}

fn flags(visit: &Gathered, words: &Words) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for flag in visit.counting.iter().flat_map(|one| &one.flags) {
        let flag = flag.as_str();
        match counts.iter_mut().find(|(name, _)| *name == flag) {
            Some((_, count)) => *count += 1,
            None => counts.push((flag, 1)),
        }
    }
    let one = |(flag, count): (&str, usize)| {
        let places = [("flag", words.word("flag", flag).to_owned()), ("count", count.to_string())];
        words.fill("report.method.flag", &[("flag", &places[0].1), ("count", &places[1].1)])
    };
    joined(words, counts.into_iter().map(one).collect(), "report.method.flags.none")
}

fn struck(visit: &Gathered, words: &Words) -> String {
    let one = |record: &RepetitionRecord| {
        let reason = record.struck_out.as_deref()?;
        let value =
            record.value().map_or_else(String::new, |value| words.angle(value.end_range_deg));
        let places = [
            ("side", &*phrases::side(words, record.side)),
            ("phase", words.word("phase", record.phase)),
            ("direction", &*phrases::direction(words, Some(record.direction))),
            ("number", &*record.number.to_string()),
            ("value", &*value),
            ("reason", reason),
        ];
        Some(words.fill("report.method.struck.one", &places))
    };
    let all = visit.visit.repetitions.iter().filter_map(one).collect();
    joined(words, all, "report.method.struck.none")
}

fn lost(visit: &Gathered, words: &Words) -> String {
    let gaps = &visit.visit.gaps;
    if gaps.is_empty() {
        return capital(words.get("report.method.lost.none"));
    }
    let seconds: f64 = gaps.iter().map(|gap| gap.to_s - gap.from_s).sum();
    let places = [("count", &*gaps.len().to_string()), ("seconds", &*words.number(seconds, 1))];
    words.fill("report.method.lost.text", &places)
}

fn values(visit: &Gathered) -> &'static str {
    let mut values = visit.visit.repetitions.iter().filter_map(RepetitionRecord::value);
    if values.all(|value| value.kind == ValueKind::Final) {
        "report.method.values.final"
    } else {
        "report.method.values.live"
    }
}

fn joined(words: &Words, lines: Vec<String>, none: &str) -> String {
    if lines.is_empty() { capital(words.get(none)) } else { capital(&lines.join("; ")) }
}
