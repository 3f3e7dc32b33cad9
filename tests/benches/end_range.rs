//! End-range accuracy on seeded simulated visits: random legs, sensors, straps, rates and movements.
//!
//! `cargo bench -p endarc-tests --bench end_range [-- [VISITS] [--live]]` prints, by style of movement,
//! the error against the simulator's truth and how often the stated uncertainty covers it.

#![expect(clippy::expect_used, reason = "a scenario that does not parse is a fault of this bench")]

use std::collections::BTreeMap;

use endarc_analysis::recording::{self, Recording};
use endarc_analysis::result::Repetition;
use endarc_protocol::words::{SensorRole, Side, TestKind};
use endarc_simulator::{Scenario, Session, TruthRepetition};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let visits = arguments.iter().find_map(|argument| argument.parse().ok()).unwrap_or(200);
    let live = arguments.iter().any(|argument| argument == "--live");
    let mut table = Table::default();
    for seed in 0..visits {
        table.add(seed, live);
    }
    table.print();
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
    fn add(&mut self, seed: u64, live: bool) {
        let (side, text) = scenario(seed);
        let scenario = Scenario::parse("seeded", &text).expect("the seeded scenario is valid");
        let session = Session::new(&scenario);
        let shank: Vec<_> = session.samples(SensorRole::shank(side)).collect();
        let pelvis: Vec<_> = session.samples(SensorRole::Pelvis).collect();
        let recording = Recording {
            shank: &shank,
            pelvis: (!pelvis.is_empty()).then_some(&pelvis),
            events: session.events(),
            side,
            test: TestKind::ProneHipRotation,
            levelling: None,
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
            "{:<10} {:>6} {:>9} {:>8} {:>8} {:>8}",
            "style", "n", "mean |e|", "p95", "max", "cover"
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
        "{name:<10} {:>6} {:>8.3}° {:>7.3}° {:>7.3}° {:>7.1}%",
        sizes.len(),
        sizes.iter().sum::<f64>() / count as f64,
        sizes.get(count * 95 / 100).copied().unwrap_or(f64::NAN),
        sizes.last().copied().unwrap_or(f64::NAN),
        100.0 * covered as f64 / count as f64,
    );
}

/// A random visit of one leg as a scenario.
fn scenario(seed: u64) -> (Side, String) {
    let mut chance = Chance(seed.wrapping_mul(7919).wrapping_add(13));
    let side = if chance.happens(0.5) { Side::Left } else { Side::Right };
    let cheap = chance.happens(0.3);
    let pelvis = chance.happens(0.5);
    let alternating = chance.happens(0.4);
    let styles: &[&str] = if alternating {
        &[
            r#""held", "through", "touch""#,
            r#""through""#,
            r#""held", "deeper", "contract", "touch""#,
        ]
    } else {
        &[r#""held""#, r#""touch""#, r#""slow""#, r#""deeper", "held""#, r#""contract""#]
    };
    let styles = chance.pick(styles);
    let order = if alternating { "alternating" } else { "blocked" };
    let pelvis_sensor =
        if pelvis { "[[sensors]]\nrole = \"pelvis\"\nmounting_error_deg = 12\n" } else { "" };
    let text = format!(
        "seed = {seed}\nrate_hz = {rate}\n\
         [[sensors]]\nrole = \"{side}-shank\"\nmounting_error_deg = {askew:.1}\n\
         accel_offset_mg = {accel}\ngyro_offset_deg_s = {gyro}\n{pelvis_sensor}\
         [link]\nloss = {loss}\n\
         [body]\ntremor_deg = {tremor:.2}\nrepetition_sd_deg = 1.5\nknee_flexion_deg = {knee:.0}\n\
         knee_spread_deg = 8\npelvis_roll_per_deg = {roll:.2}\n\
         [body.end_range_deg]\n{side} = {{ internal = {inward:.1}, external = {outward:.1} }}\n\
         [[script]]\nalign-knee = {{ begins = \"{begins}\", times = {times} }}\n\
         [[script]]\nneutral = {{}}\n\
         [[script]]\nbaseline = {{ styles = [{styles}], order = \"{order}\" }}\n\
         [[script]]\ntreatment = {{ cycles = 1, contraction_s = 5, lengthen_s = 5, hold_s = 5, oscillate_s = 5 }}\n\
         [[script]]\nretest = {{ styles = [{styles}], order = \"{order}\" }}\n",
        rate = chance.pick(&["50", "100", "104", "200"]),
        askew = chance.between(0.0, 40.0),
        accel = if cheap { 30.0 } else { 5.0 },
        gyro = if cheap { 1.5 } else { 0.5 },
        loss = if chance.happens(0.3) { 0.02 } else { 0.0 },
        tremor = chance.between(0.05, 0.35),
        knee = chance.between(80.0, 100.0),
        roll = if pelvis { chance.between(0.0, 0.2) } else { 0.0 },
        inward = chance.between(12.0, 45.0),
        outward = chance.between(12.0, 45.0),
        begins = chance.pick(&["bending", "straightening"]),
        times = chance.pick(&["2", "3", "4"]),
    );
    (side, text)
}

/// A small seeded generator, so that the same visit is drawn everywhere (Knuth's MMIX multiplier).
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        from[(self.unit() * from.len() as f64) as usize]
    }
}
