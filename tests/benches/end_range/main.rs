//! End-range accuracy on seeded simulated visits: random legs, sensors, straps, rates and movements.
//!
//! `cargo bench -p endarc-tests --bench end_range [-- [VISITS] [@SEED] [--live] [--test NAME]]` prints, for each
//! test by style of movement, the error against the simulator's truth and how often the stated 95 %
//! interval covers it.

#![expect(clippy::expect_used, reason = "a scenario that does not parse is a fault of this bench")]

mod seeded_visit;

use std::collections::BTreeMap;

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::recording::{self, Recording};
use endarc_analysis::result::Repetition;
use endarc_protocol::words::{SensorRole, TestKind};
use endarc_simulator::{Scenario, Session, TruthRepetition};

use seeded_visit::seeded_visit;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let visits = arguments.iter().find_map(|argument| argument.parse().ok()).unwrap_or(200);
    let first = arguments.iter().find_map(|one| one.strip_prefix('@')?.parse().ok()).unwrap_or(0);
    let live = arguments.iter().any(|argument| argument == "--live");
    let wanted = arguments
        .iter()
        .skip_while(|argument| *argument != "--test")
        .nth(1)
        .map(|name| name.parse::<TestKind>().expect("the name of a test"));
    for test in TestKind::ALL.iter().copied().filter(|test| wanted.is_none_or(|w| w == *test)) {
        let mut table = Table::default();
        for seed in first..first + visits {
            table.add(seed, test, live);
        }
        println!(
            "\n{test}, {visits} visits from {first}, {} values",
            if live { "live" } else { "final" }
        );
        table.print();
    }
}

/// Errors by style of movement, and what went wrong.
#[derive(Default)]
struct Table {
    by_style: BTreeMap<String, Vec<(f64, f64)>>,
    missed: usize,
    invented: usize,
    refused: usize,
}

impl Table {
    fn add(&mut self, seed: u64, test: TestKind, live: bool) {
        let (side, text) = seeded_visit(seed, test);
        let scenario = Scenario::parse("seeded", &text).expect("the seeded scenario is valid");
        let session = Session::new(&scenario);
        let shank: Vec<_> = session.samples(SensorRole::shank(side)).collect();
        let pelvis: Vec<_> = session.samples(SensorRole::Pelvis).collect();
        let recording = Recording {
            shank: &shank,
            pelvis: (!pelvis.is_empty()).then_some(&pelvis),
            events: session.events(),
            marks: &[],
            side,
            test,
            levelling: None,
            offsets: OffsetPriors::default(),
        };
        let result =
            if live { recording::analyse_live(&recording) } else { recording::analyse(&recording) };
        match result {
            Ok(result) => self.compare(&session.truth().repetitions, &result.repetitions),
            Err(error) => {
                println!("visit {seed}: {error}");
                self.refused += 1;
            }
        }
    }

    /// Pairs each true repetition with the nearest found one of its phase and direction.
    fn compare(&mut self, truth: &[TruthRepetition], found: &[Repetition]) {
        let mut used = vec![false; found.len()];
        for true_one in truth {
            let end_s = true_one.hold_start_s + true_one.hold_s + 0.6;
            let near = |place: &usize| (found[*place].end_range_at_s - true_one.hold_start_s).abs();
            let place = (0..found.len())
                .filter(|&place| {
                    let one = &found[place];
                    !used[place]
                        && one.phase == true_one.phase
                        && one.direction == true_one.direction
                        && (true_one.start_s..=end_s).contains(&one.end_range_at_s)
                })
                .min_by(|a, b| near(a).total_cmp(&near(b)));
            let Some(place) = place else {
                self.missed += 1;
                continue;
            };
            used[place] = true;
            let error = found[place].end_range_deg - true_one.end_range_deg;
            let style = format!("{:?}", true_one.style).to_lowercase();
            self.by_style.entry(style).or_default().push((error, found[place].uncertainty_deg));
        }
        self.invented += used.iter().filter(|used| !**used).count();
    }

    fn print(&self) {
        println!(
            "{:<10} {:>6} {:>9} {:>8} {:>8} {:>8} {:>8} {:>8}",
            "style", "n", "mean |e|", "rms", "p95", "max", "stated", "cover"
        );
        for (style, errors) in &self.by_style {
            line(style, errors);
        }
        let all: Vec<_> = self.by_style.values().flatten().copied().collect();
        line("all", &all);
        println!(
            "missed {}, invented {}, visits refused {}",
            self.missed, self.invented, self.refused
        );
    }
}

fn line(name: &str, errors: &[(f64, f64)]) {
    let mut sizes: Vec<f64> = errors.iter().map(|(error, _)| error.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let count = sizes.len().max(1);
    let covered = errors.iter().filter(|(error, sd)| error.abs() < 1.96 * sd).count();
    println!(
        "{name:<10} {:>6} {:>8.3}° {:>7.3}° {:>7.3}° {:>7.3}° {:>7.3}° {:>7.1}%",
        sizes.len(),
        sizes.iter().sum::<f64>() / count as f64,
        (sizes.iter().map(|size| size * size).sum::<f64>() / count as f64).sqrt(),
        sizes.get(count * 95 / 100).copied().unwrap_or(f64::NAN),
        sizes.last().copied().unwrap_or(f64::NAN),
        (errors.iter().map(|(_, sd)| sd * sd).sum::<f64>() / count as f64).sqrt(),
        100.0 * covered as f64 / count as f64,
    );
}
