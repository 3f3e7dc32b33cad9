//! Finding repetitions on the hard set: seeded visits of every kind of movement, from raw signals.
//!
//! `cargo bench -p endarc-tests --bench repetitions [-- [MOVEMENTS] [@SEED] [-v]]` prints, by kind of
//! movement, live and final: found, missed, found twice or invented; how long after the end the tone
//! came, and after the limb left it the refined value; the error of the end range. Then how the
//! plateau's own uncertainty compares with its error where the sensors have none.

#![expect(clippy::expect_used, reason = "a scenario that does not parse is a fault of this bench")]

#[path = "hard_set/mod.rs"]
mod hard_set;

use std::collections::BTreeMap;

use endarc_analysis::follower::Follower;
use endarc_analysis::repetition::detector::Noticed;
use endarc_analysis::repetition::plateau::{self, Plateau};
use endarc_protocol::words::{Direction, TestKind};
use hard_set::score::{Score, kind};
use hard_set::visit::{Sensors, Visit};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let least = arguments.iter().find_map(|one| one.parse().ok()).unwrap_or(600);
    let first = arguments.iter().find_map(|one| one.strip_prefix('@')?.parse().ok()).unwrap_or(0);
    let verbose = arguments.iter().any(|one| one == "-v");
    let (mut live, mut last) = (Score::default(), Score::default());
    let (mut movements, mut wanderings) = (0, 0);
    let mut seed = first;
    while movements < least {
        let visit = Visit::new(seed, Sensors::Usual);
        seed += 1;
        // Whether a leg can be aligned is another bench's question.
        let Some(found) = &visit.last else { continue };
        live.compare(visit.seed, visit.truth_once_aligned(), &visit.live, verbose);
        last.compare(visit.seed, &visit.truth, found, verbose);
        movements += visit.truth.len() + visit.wanderings;
        wanderings += visit.wanderings;
    }
    println!(
        "{movements} movements, {wanderings} of them wandering; seeds {first} to {}",
        seed - 1
    );
    live.print("live");
    last.print("final");
    plateaus(first..seed);
}

/// With perfect sensors what is left of the error is the plateau's own.
fn plateaus(seeds: std::ops::Range<u64>) {
    let mut by_kind: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for visit in seeds.map(|seed| Visit::new(seed, Sensors::Perfect)) {
        let mut follower = Follower::new(TestKind::ProneHipRotation);
        let mut found: Vec<(Direction, Plateau)> = Vec::new();
        for point in &visit.points {
            if let Some(Noticed::Over(excursion)) = follower.push(*point).noticed {
                found.extend(plateau::measure(&excursion).map(|one| (excursion.direction, one)));
            }
        }
        for direction in [Direction::Internal, Direction::External] {
            let errors = errors_of(&visit, direction, &found);
            // What all of them share is the alignment's, not the plateau's.
            let shared =
                errors.iter().map(|(_, error, _)| error).sum::<f64>() / errors.len() as f64;
            for (kind, error, sd_deg) in errors {
                by_kind.entry(kind).or_default().push((error - shared) / sd_deg);
            }
        }
    }
    println!(
        "\nplateau alone, perfect sensors: (value - truth) / sd, less what a visit's values share"
    );
    for (kind, z) in by_kind {
        let count = z.len() as f64;
        let mean = z.iter().sum::<f64>() / count;
        let square = z.iter().map(|z| z * z).sum::<f64>() / count;
        let covered = z.iter().filter(|z| z.abs() < 1.96).count() as f64 / count;
        println!(
            "{kind:<18}{count:>5} mean {mean:>6.2} rms {:>5.2} within 1.96: {covered:.2}",
            square.sqrt()
        );
    }
}

/// Kind, error and stated uncertainty (deg) of what was found in a direction, marks apart.
fn errors_of(
    visit: &Visit,
    direction: Direction,
    found: &[(Direction, Plateau)],
) -> Vec<(String, f64, f64)> {
    let unmarked =
        visit.truth.iter().filter(|one| one.direction == direction && one.marked_s.is_none());
    unmarked
        .filter_map(|one| {
            let span = one.hold_start_s - 0.3..one.left_s + 0.6;
            let fits = |found: &&(Direction, Plateau)| {
                found.0 == direction && span.contains(&found.1.at_s)
            };
            let plateau = found.iter().find(fits)?.1;
            Some((kind(one), plateau.end_range_deg - one.end_range_deg, plateau.sd_deg))
        })
        .collect()
}
