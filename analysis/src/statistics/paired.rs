//! Means before and after in a group, and two groups against each other: Student's and Welch's t.

use super::agreement::Differences;
use super::{finite, mean, quantile, squares};

/// A mean or a difference of means with its test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanTest {
    /// The mean difference.
    pub mean: f64,
    /// Its standard error.
    pub error: f64,
    /// Degrees of freedom; not whole for Welch's.
    pub freedom: f64,
    /// Student's t.
    pub t: f64,
    /// Two-sided probability of such a t if there were no difference.
    pub p: f64,
    /// 95 % interval of the mean difference.
    pub ci95: [f64; 2],
}

/// Student's t of paired differences; `None` where they are all alike.
#[must_use]
pub fn paired(differences: &Differences) -> Option<MeanTest> {
    let n = differences.count() as f64;
    MeanTest::of(differences.mean(), differences.sd() / n.sqrt(), n - 1.0)
}

/// Standardised mean of paired differences, mean/SD (Cohen's d_z); `None` where they are all alike.
#[must_use]
pub fn standardised(differences: &Differences) -> Option<f64> {
    finite(differences.mean() / differences.sd())
}

/// First minus second group without taking their variances as equal (Welch, Biometrika 1947;
/// 34:28–35); `None` with fewer than two values in a group, or where nothing varies.
#[must_use]
pub fn welch(first: &[f64], second: &[f64]) -> Option<MeanTest> {
    if first.len() < 2 || second.len() < 2 {
        return None;
    }
    let freedom_of = |group: &[f64]| (group.len() - 1) as f64;
    let of_mean = |group: &[f64]| squares(group) / freedom_of(group) / group.len() as f64;
    let (one, two) = (of_mean(first), of_mean(second));
    let freedom =
        (one + two).powi(2) / (one * one / freedom_of(first) + two * two / freedom_of(second));
    MeanTest::of(mean(first) - mean(second), (one + two).sqrt(), freedom)
}

impl MeanTest {
    fn of(mean: f64, error: f64, freedom: f64) -> Option<Self> {
        let t = finite(mean / error)?;
        let half = quantile::student(0.975, freedom)? * error;
        let p = quantile::student_beyond(t, freedom)?;
        Some(Self { mean, error, freedom, t, p, ci95: [mean - half, mean + half] })
    }
}
