//! Names and times in the words of a language.

use endarc_protocol::words::{Direction, Side};
use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

use crate::report::gathered::Gathered;
use crate::store::WallTime;
use crate::words::Words;

/// The word for a side.
pub(super) fn side(words: &Words, side: Side) -> String {
    words.word("side", side).to_owned()
}

/// The word for a direction, or for the total.
pub(super) fn direction(words: &Words, direction: Option<Direction>) -> String {
    let name = direction.map_or("total", |one| one.as_str());
    words.word("direction", name).to_owned()
}

/// A side and direction, e.g. `left, internal`.
pub(super) fn what(words: &Words, of: Side, way: Option<Direction>) -> String {
    let places = [("side", &*side(words, of)), ("direction", &*direction(words, way))];
    words.fill("table.name", &places)
}

/// The first letter large.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A moment of the visit's own place, by a key such as `date.time`.
pub(super) fn when(words: &Words, key: &str, time: &WallTime) -> String {
    let offset = Offset::from_seconds(time.offset_s).unwrap_or(Offset::UTC);
    let zoned = time.utc.to_zoned_datetime(TimeZone::fixed(offset));
    zoned.strftime(words.get(key)).to_string()
}

/// The day of a moment, at the visit's own place.
pub(super) fn day(words: &Words, visit: &Gathered, at: Timestamp) -> String {
    let started = &visit.visit.summary.started;
    when(words, "date.day", &WallTime { utc: at, ..started.clone() })
}

/// A time span.
pub(super) fn span(words: &Words, seconds: f64) -> String {
    if seconds < 100.0 {
        words.fill("unit.seconds", &[("value", &words.number(seconds, 0))])
    } else {
        words.fill("unit.minutes", &[("value", &words.number(seconds / 60.0, 1))])
    }
}

/// What always stands there.
pub(super) fn always(words: &Words) -> Vec<String> {
    ["always.not-diagnosis", "always.bone", "always.not-device"]
        .map(|key| words.get(key).to_owned())
        .into()
}

/// The foot of every page.
pub(super) fn foot(words: &Words, visit: &Gathered) -> String {
    let values = visit.visit.repetitions.iter().filter_map(|one| one.value());
    let mut versions: Vec<&str> = values.map(|value| value.algorithm_version.as_str()).collect();
    versions.sort_unstable();
    versions.dedup();
    let versions = versions.join(", ");
    let summary = &visit.visit.summary;
    words.fill(
        "report.foot",
        &[
            ("program", &visit.visit.program_version),
            ("algorithm", if versions.is_empty() { words.get("nothing") } else { &versions }),
            ("visit", &summary.id.to_string()),
            ("uid", summary.uid.get(..8).unwrap_or(&summary.uid)),
        ],
    )
}
