//! `analysis::hinge` on recordings of a one-axis joint with an optical reference, live.
//!
//! Data, measure and the other filters' figures are those of the reference folder
//! (`twosegment/`, `eval_hinge.py`, `hinge_results.csv`); see `endarc_tests::hinge`.

use std::path::Path;

use endarc_analysis::hinge::{self, HingeError};
use endarc_tests::hinge::{Figures, Way, delay_s, figures, moments};
use endarc_tests::reference;
use endarc_tests::two_segments::{Recording, names};

/// No found axis is further from the reference axis, degrees; the reference itself is aligned to the
/// sensors no better than that.
const LARGEST_AXIS_ERROR_DEG: f64 = 0.8;

/// Mean error of the best other filter over the three recordings (`vqf` with the reference axes in
/// `hinge_results.csv`), degrees.
const BEST_OTHER_DEG: f64 = 1.505;

/// What the mean error must be under once the delay of the sensors is made up for, degrees.
const TARGET_DEG: f64 = 1.35;

#[test]
fn axis_and_angle_of_a_hinge() {
    let Some(reference) = reference() else { return };
    let folder = reference.join("data/orientation");
    let as_it_comes = all(&folder, 0.0);
    for (name, figures) in &as_it_comes {
        let worst = figures.axis_errors_deg[0].max(figures.axis_errors_deg[1]);
        assert!(worst <= LARGEST_AXIS_ERROR_DEG, "{name}: {figures:?}");
    }
    let mean = mean_deg(&as_it_comes);
    assert!(mean <= BEST_OTHER_DEG, "{mean}°: {as_it_comes:#?}");
    // How late the readings are against the cameras is taken from other recordings than these.
    let delay_s = delay_s(&folder);
    assert!((0.0..0.02).contains(&delay_s), "at most a sample is stated: {delay_s} s");
    let ahead = all(&folder, delay_s);
    let mean = mean_deg(&ahead);
    assert!(mean <= TARGET_DEG, "{mean}°: {ahead:#?}");
}

#[test]
fn a_joint_of_more_axes_is_not_taken_for_a_hinge() {
    let Some(reference) = reference() else { return };
    let folder = reference.join("data/orientation");
    let names = names(&folder, &['2', '3']);
    assert!(names.len() >= 7, "{names:?}");
    for name in names {
        let moments = moments(&Recording::read(&folder, &name), Way::Live);
        let found = hinge::axes(&moments);
        assert!(matches!(found, Err(HingeError::NotAHinge { .. })), "{name}: {found:?}");
    }
}

/// The figures of each recording of a one-axis joint.
fn all(folder: &Path, delay_s: f64) -> Vec<(String, Figures)> {
    let names = names(folder, &['1']);
    assert!(names.len() >= 3, "{names:?}");
    let of = |name: String| {
        let figures = figures(&Recording::read(folder, &name), Way::Live, delay_s).unwrap();
        (name, figures)
    };
    names.into_iter().map(of).collect()
}

/// The mean error with the reference axes, as the other filters' are given.
fn mean_deg(all: &[(String, Figures)]) -> f64 {
    all.iter().map(|(_, figures)| figures.reference_axes_deg).sum::<f64>() / all.len() as f64
}
