//! Found against true, by kind of movement.

use std::collections::BTreeMap;

use endarc_analysis::result::Repetition;
use endarc_simulator::{Style, TruthRepetition};

use super::visit::Told;

/// Where an end shows after the hold at the latest, s.
const AFTER_HOLD_S: f64 = 0.6;

/// The tallies of every kind.
#[derive(Default)]
pub(crate) struct Score {
    pub(crate) kinds: BTreeMap<String, Tally>,
    /// Found where nothing was done.
    pub(crate) invented: usize,
}

/// What came of one kind of movement.
#[derive(Default)]
pub(crate) struct Tally {
    pub(crate) found: usize,
    pub(crate) missed: usize,
    /// Found once more, the same way.
    pub(crate) split: usize,
    /// Found the other way.
    pub(crate) invented: usize,
    pub(crate) tone_s: Vec<f64>,
    pub(crate) refined_s: Vec<f64>,
    pub(crate) errors_deg: Vec<f64>,
    pub(crate) barrier_errors_deg: Vec<f64>,
    pub(crate) barriers_invented: usize,
}

impl Score {
    /// Pairs each true repetition with the nearest found one of its phase and direction.
    pub(crate) fn compare(
        &mut self,
        seed: u64,
        truth: &[TruthRepetition],
        found: &[Told],
        verbose: bool,
    ) {
        let mut used = vec![false; found.len()];
        for one in truth {
            let until_s = one.left_s + AFTER_HOLD_S;
            let near =
                |place: &usize| (found[*place].repetition.end_range_at_s - one.hold_start_s).abs();
            let fits = |place: &usize| {
                let other = &found[*place].repetition;
                !used[*place]
                    && other.phase == one.phase
                    && other.direction == one.direction
                    && (one.start_s..=until_s).contains(&other.end_range_at_s)
            };
            let place = (0..found.len()).filter(fits).min_by(|a, b| near(a).total_cmp(&near(b)));
            let tally = self.kinds.entry(kind(one)).or_default();
            if let Some(place) = place {
                used[place] = true;
                tally.paired(one, &found[place]);
                let error = found[place].repetition.end_range_deg - one.end_range_deg;
                if verbose && tally.tone_s.last().is_some_and(|tone_s| *tone_s > 0.7) {
                    println!("seed {seed} late tone of {}", described(one));
                }
                if verbose && error.abs() > 1.0 {
                    println!("seed {seed} error {error:+.2} of {}", described(one));
                }
            } else {
                tally.missed += 1;
                if verbose {
                    println!("seed {seed} missed {}", described(one));
                }
            }
        }
        for (told, _) in found.iter().zip(used).filter(|(_, used)| !used) {
            if verbose {
                let one = &told.repetition;
                println!(
                    "seed {seed} extra {} {:.1}° from {:.1} s at {:.1} s",
                    one.direction, one.end_range_deg, one.start_s, one.end_range_at_s
                );
            }
            self.extra(truth, &told.repetition);
        }
    }

    fn extra(&mut self, truth: &[TruthRepetition], extra: &Repetition) {
        let within = |one: &&TruthRepetition| {
            (one.start_s..one.left_s + 2.5).contains(&extra.end_range_at_s)
        };
        match truth.iter().find(within) {
            Some(one) if one.direction == extra.direction => {
                self.kinds.entry(kind(one)).or_default().split += 1;
            }
            Some(one) => self.kinds.entry(kind(one)).or_default().invented += 1,
            None => self.invented += 1,
        }
    }

    /// Share of what was found that was there, and of what was there that was found.
    pub(crate) fn precision_and_recall(&self) -> (f64, f64) {
        let sum = |value: fn(&Tally) -> usize| self.kinds.values().map(value).sum::<usize>() as f64;
        let found = sum(|tally| tally.found);
        let extra = sum(|tally| tally.split + tally.invented) + self.invented as f64;
        (found / (found + extra), found / (found + sum(|tally| tally.missed)))
    }

    /// Prints a line per kind.
    pub(crate) fn print(&self, title: &str) {
        println!(
            "\n{title:<18}{:>6}{:>7}{:>7}{:>9} | tone s {:>5}{:>7} | refined s {:>5}{:>7} | error ° {:>5}{:>7}",
            "found",
            "missed",
            "split",
            "invented",
            "mean",
            "worst",
            "mean",
            "worst",
            "mean",
            "worst"
        );
        for (kind, tally) in &self.kinds {
            let (tone, refined) = (mean_and_worst(&tally.tone_s), mean_and_worst(&tally.refined_s));
            let sizes: Vec<f64> = tally.errors_deg.iter().map(|error| error.abs()).collect();
            let error = mean_and_worst(&sizes);
            println!(
                "{kind:<18}{:>6}{:>7}{:>7}{:>9} | {:>12.2}{:>7.2} | {:>15.2}{:>7.2} | {:>13.2}{:>7.2}",
                tally.found,
                tally.missed,
                tally.split,
                tally.invented,
                tone.0,
                tone.1,
                refined.0,
                refined.1,
                error.0,
                error.1,
            );
        }
        let (precision, recall) = self.precision_and_recall();
        println!("invented where nothing was done: {}", self.invented);
        println!("precision {precision:.4}, recall {recall:.4}");
        for (kind, tally) in &self.kinds {
            let sizes: Vec<f64> = tally.barrier_errors_deg.iter().map(|e| e.abs()).collect();
            if !sizes.is_empty() || tally.barriers_invented > 0 {
                let (mean, worst) = mean_and_worst(&sizes);
                println!(
                    "barriers of {kind}: {} of {}, start error {mean:.2}° mean, {worst:.2}° worst; invented {}",
                    sizes.len(),
                    tally.found,
                    tally.barriers_invented
                );
            }
        }
    }
}

impl Tally {
    fn paired(&mut self, one: &TruthRepetition, told: &Told) {
        self.found += 1;
        self.errors_deg.push(told.repetition.end_range_deg - one.end_range_deg);
        if let Some(tone_s) = told.tone_s {
            let end_s = one.marked_s.unwrap_or(if tone_s > one.hold_start_s - 0.5 {
                one.hold_start_s
            } else {
                one.first_end_s
            });
            self.tone_s.push(tone_s - end_s);
        }
        self.refined_s.extend(told.refined_s.map(|refined_s| refined_s - one.left_s));
        match (one.start_barrier_deg, told.repetition.barriers) {
            (Some(start_deg), Some(found)) => {
                self.barrier_errors_deg.push(found.start_deg - start_deg);
            }
            (None, Some(_)) => self.barriers_invented += 1,
            _ => {}
        }
    }
}

/// Mean and largest.
pub(crate) fn mean_and_worst(values: &[f64]) -> (f64, f64) {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    (mean, values.iter().copied().fold(f64::NAN, f64::max))
}

/// The kind of movement: its style, or that the hip is stiff that way.
pub(crate) fn kind(one: &TruthRepetition) -> String {
    if one.end_range_deg < 7.9 && one.style != Style::Marked {
        return "stiff".to_owned();
    }
    format!("{:?}", one.style).to_lowercase()
}

fn described(one: &TruthRepetition) -> String {
    format!(
        "{:?} ({}) {} {:.1}°, {:.1} s to {:.1} s",
        one.style,
        kind(one),
        one.direction,
        one.end_range_deg,
        one.start_s,
        one.left_s
    )
}
