//! The hinge's axis and angle on recordings with an optical reference.
//!
//! `cargo bench -p endarc-tests --bench hinge`, with `ENDARC_REFERENCE_DIR` naming the folder with
//! `data/`, prints for each recording of a one-axis joint, live and offline, the errors of both axes
//! and of the angle, beside the best other filter's (`hinge_results.csv`). The sensors' readings are
//! late against the cameras; so the angle's error is given as it comes, and once more with the angle
//! carried forward by the delay that the recordings of *other* joints show. Last, what is said of the
//! joints that are no hinges.

#![allow(clippy::unwrap_used, reason = "a recording of another kind is a fault of this bench")]

use std::fs;
use std::path::{Path, PathBuf};

use endarc_analysis::hinge;
use endarc_tests::hinge::{Figures, Way, delay_s, figures, moments};
use endarc_tests::two_segments::{Recording, names};

fn main() {
    let Some(reference) = std::env::var_os("ENDARC_REFERENCE_DIR").map(PathBuf::from) else {
        println!("ENDARC_REFERENCE_DIR is not set: it names the folder with data/");
        return;
    };
    let folder = reference.join("data/orientation");
    let delay_s = delay_s(&folder);
    println!("delay of the readings, from joints of two and three axes: {:.1} ms", 1e3 * delay_s);
    for way in [Way::Live, Way::Offline] {
        table(&folder, way, delay_s);
    }
    println!("\nother joints, live");
    for name in names(&folder, &['2', '3']) {
        let moments = moments(&Recording::read(&folder, &name), Way::Live);
        match hinge::axes(&moments) {
            Ok(_) => println!("{name}: taken for a hinge"),
            Err(error) => println!("{name}: {error}"),
        }
    }
}

fn table(folder: &Path, way: Way, delay_s: f64) {
    println!("\n{way:?}, degrees");
    println!(
        "{:<10} {:>6} {:>6} {:>7} | {:>8} {:>6} {:>8} | {:>8} {:>6} {:>8} | {:>5}",
        "recording",
        "axis 1",
        "axis 2",
        "stated",
        "ref axes",
        "own",
        "all",
        "+delay",
        "own",
        "all",
        "best"
    );
    let mut sums = [0.0; 7];
    let names = names(folder, &['1']);
    for name in &names {
        let recording = Recording::read(folder, name);
        let [plain, ahead] = [0.0, delay_s].map(|delay_s| figures(&recording, way, delay_s));
        let (plain, ahead) = match (plain, ahead) {
            (Ok(plain), Ok(ahead)) => (plain, ahead),
            (Err(error), _) | (_, Err(error)) => {
                println!("{name}: {error}");
                continue;
            }
        };
        let best = best_other_deg(folder, name);
        let row = [parts(&plain), parts(&ahead)].concat();
        let [one, other] = plain.axis_errors_deg;
        print!("{name:<10} {one:>6.2} {other:>6.2} {:>7.2} | ", plain.axis_uncertainty_deg);
        line(&row, best);
        for (sum, value) in sums.iter_mut().zip(row.iter().chain([&best])) {
            *sum += value / names.len() as f64;
        }
    }
    print!("{:<32} | ", "mean");
    line(&sums[..6], sums[6]);
}

fn parts(figures: &Figures) -> [f64; 3] {
    [figures.reference_axes_deg, figures.own_axes_deg, figures.everywhere_deg]
}

fn line(row: &[f64], best: f64) {
    println!(
        "{:>8.3} {:>6.3} {:>8.3} | {:>8.3} {:>6.3} {:>8.3} | {best:>5.3}",
        row[0], row[1], row[2], row[3], row[4], row[5]
    );
}

/// The least error of another filter on this recording, with the reference axes, degrees.
fn best_other_deg(folder: &Path, name: &str) -> f64 {
    let text = fs::read_to_string(folder.join("hinge_results.csv")).unwrap();
    let rows = text.lines().map(|row| row.split(',').collect::<Vec<_>>());
    rows.filter(|row| row[0] == name).map(|row| row[8].parse().unwrap()).fold(f64::NAN, f64::min)
}
