//! `endarc orient` on recordings with an optical reference, beside other filters.
//!
//! Data: BROAD, D. Laidig, M. Caruso, A. Cereatti, T. Seel, "BROAD - A Benchmark for Robust Inertial
//! Orientation Estimation", Data 6(7):72, 2021, doi:10.3390/data6070072 (CC BY 4.0), as converted in
//! the reference folder. Error: the angle between estimated and reference up vector, both in the
//! sensor's frame; its root mean square over the samples that count as movement and have a
//! reference; the plain mean over the trials. The other filters' figures stand in
//! `reference_results.csv`.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::thread;

use endarc_tests::npy::Table;
use endarc_tests::{Scratch, Watch, reference, run};

/// How a filter may look at the recording.
struct Way {
    options: &'static [&'static str],
    /// The best other filter that looks at it in the same way.
    peer: &'static str,
}

/// No row depends on a later one.
const LIVE: Way = Way { options: &[], peer: "vqf" };

/// The whole recording is known.
const OFFLINE: Way = Way { options: &["--offline"], peer: "vqf_offline_acausal" };

/// One line of the manifest.
struct Trial {
    name: String,
    imu: String,
    reference: String,
    rate_hz: f64,
}

#[test]
fn inclination_is_no_worse_than_the_best_other_filters() {
    let Some(reference) = reference() else { return };
    let folder = reference.join("data/orientation");
    let watch = Watch::start();
    let trials = trials(&folder);
    assert_eq!(trials.len(), 19, "trials in the manifest");
    // Two halves side by side: a run of the program uses one core.
    let (first, second) = trials.split_at(trials.len() / 2);
    let errors = thread::scope(|scope| {
        let second = scope.spawn(|| errors_deg(&folder, second));
        let mut all = errors_deg(&folder, first);
        all.extend(second.join().unwrap());
        all
    });
    let live: Vec<f64> = errors.iter().map(|[live, _]| *live).collect();
    let offline: Vec<f64> = errors.iter().map(|[_, offline]| *offline).collect();
    compare(&folder, &trials, &live, &LIVE);
    compare(&folder, &trials, &offline, &OFFLINE);
    println!("{} runs in {:.1} s", 2 * trials.len(), watch.seconds());
}

/// Live and offline error of each trial, degrees.
fn errors_deg(folder: &Path, trials: &[Trial]) -> Vec<[f64; 2]> {
    let scratch = Scratch::new();
    let of_trial = |trial: &Trial| {
        let motion = motion_csv(&Table::read(&folder.join(&trial.imu)), trial.rate_hz);
        scratch.file("motion.csv", motion);
        let truth = Table::read(&folder.join(&trial.reference));
        [LIVE, OFFLINE].map(|way| error_deg(&oriented(&scratch, &way), &truth))
    };
    trials.iter().map(of_trial).collect()
}

/// The peer's figures beside ours, and the assertion.
fn compare(folder: &Path, trials: &[Trial], ours: &[f64], way: &Way) {
    let peers: Vec<f64> = trials.iter().map(|trial| peer_deg(folder, trial, way.peer)).collect();
    println!("{:<46} {:>8} {}", "inclination RMSE, degrees", "endarc", way.peer);
    for ((trial, ours), peer) in trials.iter().zip(ours).zip(&peers) {
        println!("{:<46} {ours:>8.3} {peer:.3}", trial.name);
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (ours, peer) = (mean(ours), mean(&peers));
    println!("{:<46} {ours:>8.3} {peer:.3}", "mean");
    assert!(ours <= peer, "mean {ours:.3}° is worse than the {peer:.3}° of {}", way.peer);
}

fn trials(folder: &Path) -> Vec<Trial> {
    let [name, imu, reference, rate] = ["trial", "imu_file", "ref_file", "sample_rate_hz"];
    let of = |row: &[String]| Trial {
        name: row[0].clone(),
        imu: row[1].clone(),
        reference: row[2].clone(),
        rate_hz: row[3].parse().unwrap(),
    };
    columns(&folder.join("manifest_broad.csv"), &[name, imu, reference, rate])
        .iter()
        .map(|row| of(row))
        .collect()
}

/// Another filter's error on a trial at the trial's own rate, degrees.
fn peer_deg(folder: &Path, trial: &Trial, filter: &str) -> f64 {
    let wanted = ["trial", "filter", "rate_hz", "inclination_rmse_deg"];
    let rows = columns(&folder.join("reference_results.csv"), &wanted);
    let is_it = |row: &&Vec<String>| {
        let rate: f64 = row[2].parse().unwrap();
        row[0] == trial.name && row[1] == filter && (rate - trial.rate_hz).abs() < 1.0
    };
    rows.iter().find(is_it).expect("the filter was run on the trial")[3].parse().unwrap()
}

/// The wanted columns of a CSV whose wanted fields hold no quoted commas; the manifest's quoted
/// description stands after them.
fn columns(file: &Path, wanted: &[&str]) -> Vec<Vec<String>> {
    let text = fs::read_to_string(file).unwrap();
    let (header, rows) = text.split_once('\n').unwrap();
    let header: Vec<&str> = header.trim().split(',').collect();
    let place = |name: &&str| header.iter().position(|column| column == name).unwrap();
    let places: Vec<usize> = wanted.iter().map(place).collect();
    let pick = |row: &str| {
        let fields: Vec<&str> = row.trim().split(',').collect();
        places.iter().map(|place| fields[*place].to_owned()).collect()
    };
    rows.lines().map(pick).collect()
}

/// The recording as a Motion CSV: rates first in the array, accelerations first in the text.
fn motion_csv(imu: &Table, rate_hz: f64) -> String {
    let mut text = String::with_capacity(imu.rows().len() * 80);
    text.push_str("time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z\n");
    for (index, row) in imu.rows().enumerate() {
        let &[gx, gy, gz, ax, ay, az] = row else { panic!("six columns") };
        let time_s = index as f64 / rate_hz;
        writeln!(text, "{time_s:.7},{ax:.7},{ay:.7},{az:.7},{gx:.7},{gy:.7},{gz:.7}").unwrap();
    }
    text
}

/// Runs the filter; its quaternions (w, x, y, z).
fn oriented(scratch: &Scratch, way: &Way) -> Vec<[f64; 4]> {
    let (input, output) = (scratch.at("motion.csv"), scratch.at("out.csv"));
    let mut arguments = vec!["orient".into(), input.into_os_string(), "--output".into()];
    arguments.push(output.clone().into_os_string());
    arguments.extend(way.options.iter().map(Into::into));
    run(arguments).done();
    let quaternion = |row: &str| {
        let mut fields = row.split(',').skip(1).map(|field| field.parse().unwrap());
        std::array::from_fn(|_| fields.next().expect("four parts"))
    };
    fs::read_to_string(output).unwrap().lines().skip(1).map(quaternion).collect()
}

/// Root mean square of the inclination error, degrees.
fn error_deg(estimates: &[[f64; 4]], truth: &Table) -> f64 {
    assert_eq!(estimates.len(), truth.rows().len(), "a row for each sample");
    let counted: Vec<f64> = estimates
        .iter()
        .zip(truth.rows())
        .filter(|(_, row)| row[4] > 0.0 && row[0] != MISSING)
        .map(|(q, row)| angle_rad(up(*q), up([row[0], row[1], row[2], row[3]])).powi(2))
        .collect();
    (counted.iter().sum::<f64>() / counted.len() as f64).sqrt().to_degrees()
}

/// Stands in the reference where the cameras lost the sensor.
const MISSING: f64 = -32768.0;

/// The earth's up in the sensor's frame: the last row of the rotation matrix of a sensor-to-earth
/// quaternion of any length.
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
