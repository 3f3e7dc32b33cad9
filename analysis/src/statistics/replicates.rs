//! Limits of agreement where each subject was measured several times in each way.

use super::agreement::{Agreement, Differences, Multiplier};
use super::ratings::Ratings;
use super::{mean, repeatability};

/// Why two tables of replicates cannot be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "{first} subjects measured in one way and {second} in the other: give both of the same ones"
)]
pub struct ReplicatesError {
    /// Subjects in the first table.
    pub first: usize,
    /// Subjects in the second.
    pub second: usize,
}

/// Agreement of *single* measurements from means of replicates: the variance that averaging took
/// out is put back, `s² = s_d̄² + (1 − 1/m₁)s_w1² + (1 − 1/m₂)s_w2²` (Bland & Altman, Stat Methods Med
/// Res 1999; 8:135–160, section 5.1). The interval of the limits adds the errors of the three
/// variances by the delta method, as in that paper (from memory); with one replicate it would be that of
/// [`super::LimitError::Of1999`]. `None` where nothing differs at all.
///
/// # Errors
/// [`ReplicatesError`] when the tables do not hold the same number of subjects.
pub fn agreement(
    first: &Ratings,
    second: &Ratings,
    multiplier: Multiplier,
) -> Result<Option<Agreement>, ReplicatesError> {
    let pairs = first.rows().zip(second.rows()).map(|(a, b)| (mean(a), mean(b)));
    match Differences::of(pairs) {
        Ok(of_means) if first.targets() == second.targets() => {
            Ok(corrected(&of_means, first, second, multiplier))
        }
        _ => Err(ReplicatesError { first: first.targets(), second: second.targets() }),
    }
}

fn corrected(
    of_means: &Differences,
    first: &Ratings,
    second: &Ratings,
    multiplier: Multiplier,
) -> Option<Agreement> {
    let n = of_means.count() as f64;
    let of_means_variance = of_means.sd().powi(2);
    let (mut variance, mut variance_error) =
        (of_means_variance, 2.0 * of_means_variance.powi(2) / (n - 1.0));
    for replicates in [first, second] {
        let m = replicates.raters() as f64;
        let within = repeatability::within_subject_sd(replicates).powi(2);
        let share = 1.0 - 1.0 / m;
        variance += share * within;
        variance_error += 2.0 * (share * within).powi(2) / (n * (m - 1.0));
    }
    // The error of a standard deviation is that of its variance over twice the deviation.
    let sd_error = variance_error / (4.0 * variance);
    let limit_error = (of_means_variance / n + multiplier.value().powi(2) * sd_error).sqrt();
    let errors = (of_means.sd() / n.sqrt(), limit_error);
    if !limit_error.is_finite() {
        return None;
    }
    Agreement::around(of_means.mean(), variance.sqrt(), errors, multiplier, n - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::LimitError;

    /// Replicates without scatter are single measurements told twice.
    #[test]
    fn replicates_without_scatter_are_single_measurements() {
        let (a, b) = ([30.0, 35.0, 41.0, 28.0], [31.0, 33.0, 44.0, 28.0]);
        let twice = |values: [f64; 4]| Ratings::new(&values.map(|one| [one, one])).unwrap();
        let of_twice = agreement(&twice(a), &twice(b), Multiplier::Usual).unwrap().unwrap();
        let single = Differences::of(a.into_iter().zip(b)).unwrap();
        let single = single.agreement(Multiplier::Usual, LimitError::Of1999).unwrap();
        assert!((of_twice.sd - single.sd).abs() < 1e-12);
        assert!((of_twice.limit_error - single.limit_error).abs() < 1e-12);
    }

    #[test]
    fn tables_of_other_subjects_are_refused_and_no_difference_gives_none() {
        let two = Ratings::new(&[[1.0, 1.0], [2.0, 2.0]]).unwrap();
        let three = Ratings::new(&[[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]]).unwrap();
        let refused = agreement(&two, &three, Multiplier::Usual);
        assert_eq!(refused, Err(ReplicatesError { first: 2, second: 3 }));
        assert_eq!(agreement(&two, &two, Multiplier::Usual), Ok(None));
    }
}
