//! How far replicates of the same thing scatter.

use super::ratings::Ratings;
use super::{finite, mean, squares};

/// Within-subject standard deviation, s_w: the root of the mean variance within rows (Bland & Altman,
/// Stat Methods Med Res 1999; 8:135–160, section 3).
#[must_use]
pub fn within_subject_sd(replicates: &Ratings) -> f64 {
    let freedom = (replicates.raters() - 1) as f64;
    let variances: f64 = replicates.rows().map(|row| squares(row) / freedom).sum();
    (variances / replicates.targets() as f64).sqrt()
}

/// Repeatability coefficient, 1.96·√2·s_w: two replicates differ by less in 95 % of the cases (Bland
/// & Altman 1999, section 3).
#[must_use]
pub fn repeatability_coefficient(replicates: &Ratings) -> f64 {
    1.96 * std::f64::consts::SQRT_2 * within_subject_sd(replicates)
}

/// The older form for pairs, 2·√(Σd²/n) (Bland & Altman, Lancet 1986; i:307–310); `None` unless
/// there are exactly two replicates of each.
#[must_use]
pub fn repeatability_of_pairs(replicates: &Ratings) -> Option<f64> {
    let squares: Option<f64> = replicates
        .rows()
        .map(|row| match row {
            [first, second] => Some((first - second).powi(2)),
            _ => None,
        })
        .sum();
    Some(2.0 * (squares? / replicates.targets() as f64).sqrt())
}

/// Within-subject coefficient of variation: the root of the mean of (s_i/m_i)² (Bland & Altman, BMJ
/// 1996; 313:106, the root mean square form); `None` unless every mean is above zero, since a ratio to
/// an angle about a zero says nothing.
#[must_use]
pub fn coefficient_of_variation(replicates: &Ratings) -> Option<f64> {
    let freedom = (replicates.raters() - 1) as f64;
    let ratios: Option<f64> = replicates
        .rows()
        .map(|row| {
            let mean = mean(row);
            (mean > 0.0).then(|| squares(row) / freedom / (mean * mean))
        })
        .sum();
    finite((ratios? / replicates.targets() as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: rows 9, 11 and 18, 22 have SD √2 and √8 and means 10 and 20: both 14.142 %.
    #[test]
    fn the_coefficient_of_variation_is_relative() {
        let ratings = Ratings::new(&[[9.0, 11.0], [18.0, 22.0]]).unwrap();
        let cv = coefficient_of_variation(&ratings).unwrap();
        assert!((cv - 0.02_f64.sqrt()).abs() < 1e-12);
        let about_zero = Ratings::new(&[[-1.0, 1.0], [18.0, 22.0]]).unwrap();
        assert_eq!(coefficient_of_variation(&about_zero), None);
    }

    #[test]
    fn pairs_are_two() {
        let three = Ratings::new(&[[9.0, 11.0, 10.0], [18.0, 22.0, 20.0]]).unwrap();
        assert_eq!(repeatability_of_pairs(&three), None);
    }
}
