//! Published mean values of the position, with their source: context, on demand only.

use endarc_analysis::test_sheet::{Published, test_sheet};
use endarc_protocol::words::TestKind;

use crate::words::Words;

/// One line each.
pub(super) fn lines(test: TestKind, words: &Words) -> Vec<String> {
    let published = test_sheet(test).published;
    if published.is_empty() {
        return vec![words.get("report.ranges.none").to_owned()];
    }
    published.iter().map(|one| line(words, one)).collect()
}

fn line(words: &Words, one: &Published) -> String {
    let values =
        [("internal", one.internal_deg), ("external", one.external_deg), ("total", one.total_deg)];
    let told = values.into_iter().filter_map(|(way, mean)| {
        let direction = words.word("direction", way);
        let places = [("direction", direction), ("mean", &*words.angle(mean?))];
        Some(words.fill("report.ranges.value", &places))
    });
    let mut values: Vec<String> = told.collect();
    if let (Some(sd), Some(last)) = (one.total_sd_deg, values.last_mut()) {
        let sd = words.fill("report.ranges.sd", &[("sd", &words.angle(sd))]);
        *last = format!("{last} {sd}");
    }
    let values = values.join(", ");
    let places = [("source", one.source), ("people", one.people), ("values", &values)];
    words.fill("report.ranges.one", &places)
}
