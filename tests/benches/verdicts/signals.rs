//! The instrument's errors on visits from raw signals: within a phase, for the whole visit, and from one
//! phase to the next.

use std::collections::BTreeMap;

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::recording::{self, Recording};
use endarc_protocol::words::{Phase, SensorRole, TestKind};
use endarc_simulator::{Scenario, Session};

use crate::seeded_visit::seeded_visit;

/// Errors of one direction's repetitions, baseline and retest, degrees.
type Errors = [Vec<f64>; 2];

/// Analyses so many visits and prints what their errors are made of.
pub(crate) fn print(visits: u64) {
    let directions: Vec<Errors> = (0..visits).flat_map(of_visit).collect();
    let complete: Vec<&Errors> =
        directions.iter().filter(|phases| phases.iter().all(|phase| phase.len() >= 2)).collect();
    let within: Vec<f64> =
        complete.iter().flat_map(|phases| phases.iter()).map(|errors| variance(errors)).collect();
    let both: Vec<f64> =
        complete.iter().map(|phases| f64::midpoint(mean(&phases[0]), mean(&phases[1]))).collect();
    let changes: Vec<f64> =
        complete.iter().map(|phases| mean(&phases[1]) - mean(&phases[0])).collect();
    println!("{visits} visits, {} directions before and after", complete.len());
    println!("error within a phase      SD {:.3}°", mean(&within).sqrt());
    println!("offset of the whole visit SD {:.3}°", mean_square(&both).sqrt());
    println!(
        "error of a change         SD {:.3}°, mean {:+.3}°; from the error within alone: {:.3}°",
        mean_square(&changes).sqrt(),
        mean(&changes),
        (mean(&within) * 2.0 / 3.0).sqrt()
    );
}

/// By direction.
fn of_visit(seed: u64) -> Vec<Errors> {
    let test = TestKind::ProneHipRotation;
    let (side, text) = seeded_visit(seed, test);
    let scenario = Scenario::parse("seeded", &text).expect("the seeded scenario is valid");
    let session = Session::new(&scenario);
    let shank: Vec<_> = session.samples(SensorRole::shank(side)).collect();
    let pelvis: Vec<_> = session.samples(SensorRole::Pelvis).collect();
    let result = recording::analyse(&Recording {
        shank: &shank,
        pelvis: (!pelvis.is_empty()).then_some(&pelvis),
        events: session.events(),
        marks: &[],
        side,
        test,
        levelling: None,
        offsets: OffsetPriors::default(),
    });
    let result = result.expect("a seeded visit can be analysed");
    let mut errors: BTreeMap<_, Errors> = BTreeMap::new();
    for true_one in &session.truth().repetitions {
        let span = true_one.start_s..=true_one.hold_start_s + true_one.hold_s + 0.6;
        let found = result
            .repetitions
            .iter()
            .find(|one| one.direction == true_one.direction && span.contains(&one.end_range_at_s));
        if let Some(found) = found {
            let of_phase = usize::from(true_one.phase == Phase::Retest);
            let error = found.end_range_deg - true_one.end_range_deg;
            errors.entry(true_one.direction).or_default()[of_phase].push(error);
        }
    }
    errors.into_values().collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn mean_square(values: &[f64]) -> f64 {
    values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64
}

fn variance(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64
}
