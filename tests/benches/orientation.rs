//! Inclination on recordings with an optical reference, by group of trials, beside the best other
//! filter: `cargo bench -p endarc-tests --bench orientation` with `ENDARC_REFERENCE_DIR` set.
//!
//! Data, error measure and the other filters' figures: see `it/orientation.rs`. A figure is the mean
//! over a group's trials of the root mean square error in degrees; the one after the stroke is the
//! least of any other filter that looks at the recording in the same way. Lost samples: two of a
//! hundred packets of five samples begin a burst of one to four lost packets; other filters are fed
//! by interpolation. Look-ahead: the smoother sees one second more than the sample it answers.

#![expect(
    clippy::unwrap_used,
    reason = "a reference file that does not parse is a fault of this bench"
)]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use endarc_analysis::orientation::{LiveFilter, Orientation, smooth};
use endarc_protocol::sample::Sample;
use endarc_tests::npy::Table;
use endarc_tests::reference;

/// One trial at one rate.
struct Trial {
    name: String,
    samples: Vec<Sample>,
    /// The upward vertical in the sensor's frame, where the cameras saw it and the movement counts.
    truth: Vec<Option<[f64; 3]>>,
    rate_hz: f64,
}

/// A column of the table: its name, how many samples make one, and the way of looking.
struct Column {
    name: &'static str,
    block: usize,
    way: Way,
}

#[derive(Clone, Copy, PartialEq)]
enum Way {
    Live,
    Offline,
    LiveWithLoss,
    OneSecondAhead,
}

const COLUMNS: [Column; 7] = [
    Column { name: "live 285", block: 1, way: Way::Live },
    Column { name: "live 95", block: 3, way: Way::Live },
    Column { name: "live 48", block: 6, way: Way::Live },
    Column { name: "offline 285", block: 1, way: Way::Offline },
    Column { name: "offline 95", block: 3, way: Way::Offline },
    Column { name: "loss 95", block: 3, way: Way::LiveWithLoss },
    Column { name: "+1 s 95", block: 3, way: Way::OneSecondAhead },
];

fn main() {
    let Some(reference) = reference() else { return };
    let folder = reference.join("data/orientation");
    let results = rows(&folder.join("reference_results.csv"));
    let losses = rows(&folder.join("loss_results.csv"));
    let groups: BTreeSet<&str> = results
        .iter()
        .filter(|row| row[0] == "broad")
        .flat_map(|row| row[2].split('|'))
        .chain(["all"])
        .collect();
    let member = |name: &str, group: &str| {
        group == "all"
            || results.iter().any(|row| row[1] == name && row[2].split('|').any(|one| one == group))
    };
    println!("inclination RMSE, degrees: ours / best other filter\n");
    for column in COLUMNS {
        let errors: Vec<(String, f64)> = trials(&folder, column.block)
            .iter()
            .map(|trial| (trial.name.clone(), error_deg(trial, column.way)))
            .collect();
        print!("{:<12}", column.name);
        for group in &groups {
            let inside = |name: &str| member(name, group);
            let ours =
                mean(errors.iter().filter(|(name, _)| inside(name)).map(|(_, error)| *error));
            let rate_hz = RATE_HZ / column.block as f64;
            let peer = match column.way {
                Way::LiveWithLoss => {
                    best(&losses, [0, 1, 5], |row| row[2] == "interp" && inside(&row[0]))
                }
                way => best(&results, [1, 3, 6], |row| {
                    let at: f64 = row[5].parse().unwrap();
                    let acausal = row[3] == "vqf_offline_acausal";
                    (at - rate_hz).abs() < 1.0 && acausal == (way != Way::Live) && inside(&row[1])
                }),
            };
            print!(" {group} {ours:.3}/{peer:.3}");
        }
        println!();
    }
}

/// The trials' own rate.
const RATE_HZ: f64 = 2000.0 / 7.0;

fn error_deg(trial: &Trial, way: Way) -> f64 {
    let lost = if way == Way::LiveWithLoss { lost(trial.samples.len()) } else { Vec::new() };
    let is_lost = |place: usize| lost.get(place).copied().unwrap_or(false);
    let orientations: Vec<Orientation> = match way {
        Way::Live | Way::LiveWithLoss => {
            let mut filter = LiveFilter::new();
            let mut last = Orientation::unknown();
            let step = |(place, sample)| {
                if !is_lost(place) {
                    last = filter.push(sample);
                }
                last
            };
            trial.samples.iter().enumerate().map(step).collect()
        }
        Way::Offline => smooth(&trial.samples),
        Way::OneSecondAhead => ahead(trial),
    };
    let squares = orientations
        .iter()
        .zip(&trial.truth)
        .enumerate()
        .filter(|(place, _)| !is_lost(*place))
        .filter_map(|(_, (ours, truth))| Some(angle_rad(ours.up().into(), (*truth)?).powi(2)));
    mean(squares).sqrt().to_degrees()
}

/// The smoother on half a minute up to one second after each second of the recording.
fn ahead(trial: &Trial) -> Vec<Orientation> {
    let second = trial.rate_hz.round() as usize;
    let mut out = Vec::with_capacity(trial.samples.len());
    for start in (0..trial.samples.len()).step_by(second / 4) {
        let end = (start + second / 4).min(trial.samples.len());
        let seen = (start + second).min(trial.samples.len());
        let from = start.saturating_sub(30 * second);
        let piece = smooth(&trial.samples[from..seen]);
        out.extend_from_slice(&piece[start - from..end - from]);
    }
    out
}

/// Which samples are lost: the rule with which the other filters' figures were made.
fn lost(count: usize) -> Vec<bool> {
    let mut lost = vec![false; count];
    for packet in 0..count.div_ceil(5) {
        if split_mix(packet as u64) % 1000 < 20 {
            let packets = 1 + (split_mix(packet as u64 + 1_000_000) % 4) as usize;
            let end = ((packet + packets) * 5).min(count);
            lost[packet * 5..end].fill(true);
        }
    }
    lost
}

/// `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014), one value from a seed.
fn split_mix(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// The least mean over trials of any filter; places of trial, filter and error in a row.
fn best(rows: &[Vec<String>], places: [usize; 3], wanted: impl Fn(&[String]) -> bool) -> f64 {
    let [_, filter, error] = places;
    let rows: Vec<&Vec<String>> = rows.iter().filter(|row| wanted(row)).collect();
    let filters: BTreeSet<&str> = rows.iter().map(|row| row[filter].as_str()).collect();
    let of = |name: &str| {
        mean(rows.iter().filter(|row| row[filter] == name).map(|row| row[error].parse().unwrap()))
    };
    filters.into_iter().map(of).fold(f64::INFINITY, f64::min)
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    sum / count
}

/// The fields of a CSV without quotes among those that are wanted.
fn rows(file: &Path) -> Vec<Vec<String>> {
    let text = fs::read_to_string(file).unwrap();
    text.lines().skip(1).map(|row| row.split(',').map(str::to_owned).collect()).collect()
}

fn trials(folder: &Path, block: usize) -> Vec<Trial> {
    let of = |row: &Vec<String>| {
        let imu = Table::read(&folder.join(&row[2]));
        let truth = Table::read(&folder.join(&row[3]));
        let rate_hz = row[6].parse::<f64>().unwrap() / block as f64;
        let motion: Vec<&[f64]> = imu.rows().collect();
        let samples = motion.chunks_exact(block).enumerate().map(|(place, rows)| {
            let at = |column: usize| mean(rows.iter().map(|row| row[column]));
            Sample {
                time_s: place as f64 / rate_hz,
                gyro_rad_s: [at(0), at(1), at(2)],
                accel_m_s2: [at(3), at(4), at(5)],
                ..Sample::default()
            }
        });
        let seen: Vec<&[f64]> = truth.rows().collect();
        let truth = seen.chunks_exact(block).map(|rows| {
            let row = rows[block - 1];
            (row[4] > 0.0 && row[0] != MISSING).then(|| up([row[0], row[1], row[2], row[3]]))
        });
        let (samples, truth) = (samples.collect(), truth.collect());
        Trial { name: row[1].clone(), samples, truth, rate_hz }
    };
    rows(&folder.join("manifest_broad.csv")).iter().map(of).collect()
}

/// Stands in the reference where the cameras lost the sensor.
const MISSING: f64 = -32768.0;

/// The last row of the rotation matrix of a sensor-to-earth quaternion of any length.
fn up([w, x, y, z]: [f64; 4]) -> [f64; 3] {
    let n = w * w + x * x + y * y + z * z;
    [2.0 * (x * z - w * y) / n, 2.0 * (y * z + w * x) / n, 1.0 - 2.0 * (x * x + y * y) / n]
}

/// The angle between two unit vectors, exact for small angles too.
fn angle_rad(a: [f64; 3], b: [f64; 3]) -> f64 {
    let cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    dot(cross, cross).sqrt().atan2(dot(a, b))
}
