//! Every kind of movement from raw signals, live and final, against the simulator's truth; the whole
//! hard set is the bench of the same name.

#[path = "../benches/hard_set/mod.rs"]
#[allow(dead_code, reason = "the bench prints what this only counts")]
mod hard_set;

use hard_set::score::Score;
use hard_set::visit::{Sensors, Visit};

/// Some 200 movements: where 99 of 100 are right, seven wrong by chance is rare (binomial: 0.4 %).
#[test]
fn nearly_every_movement_is_found_and_hardly_any_invented() {
    let (mut live, mut last) = (Score::default(), Score::default());
    for seed in 9_000..9_009 {
        let visit = Visit::new(seed, Sensors::Usual);
        let Some(found) = &visit.last else { continue };
        live.compare(seed, visit.truth_once_aligned(), &visit.live, true);
        last.compare(seed, &visit.truth, found, true);
    }
    for (name, score) in [("live", live), ("final", last)] {
        score.print(name);
        let (precision, recall) = score.precision_and_recall();
        assert!(precision > 0.965 && recall > 0.965, "{name}: {precision:.3}, {recall:.3}");
        for tally in score.kinds.values() {
            let late = tally.tone_s.iter().filter(|tone_s| **tone_s > 0.7).count();
            assert!(late <= 1, "{name}: {:?}", tally.tone_s);
        }
    }
}
