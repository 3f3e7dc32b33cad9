//! Standard error of measurement and minimal detectable change.

use std::f64::consts::SQRT_2;

use super::finite;
use super::mean_squares::MeanSquares;
use super::quantile;

/// A standard error of measurement: finite and not negative, in the unit of the ratings.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Sem(f64);

/// Why a number is no standard error of measurement.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} is no standard error of measurement: it must be finite and not negative")]
pub struct SemError {
    /// The number.
    pub value: f64,
}

impl Sem {
    /// From a number, e.g. a published one.
    ///
    /// # Errors
    /// [`SemError`] when it is negative or not finite.
    pub fn new(value: f64) -> Result<Self, SemError> {
        if value.is_finite() && value >= 0.0 { Ok(Self(value)) } else { Err(SemError { value }) }
    }

    /// √MSE of a two-way table: what is left within raters, whatever the spread of the targets
    /// (Weir, J Strength Cond Res 2005; 19:231–240).
    #[must_use]
    pub fn consistency(squares: &MeanSquares) -> Self {
        Self(squares.residual.sqrt())
    }

    /// √(σ² of raters + MSE): for two measurements by any two raters (de Vet et al., J Clin Epidemiol
    /// 2006; 59:1033–1039). Where raters differ less than chance makes them, their part is nothing.
    #[must_use]
    pub fn agreement(squares: &MeanSquares) -> Self {
        let raters = (squares.between_raters - squares.residual) / squares.targets;
        Self((raters.max(0.0) + squares.residual).sqrt())
    }

    /// SD·√(1 − ICC), the older form (Weir 2005, equation 5); `None` when the ICC is above one or
    /// something is not finite.
    #[must_use]
    pub fn from_icc(sd: f64, icc: f64) -> Option<Self> {
        Self::new(sd * (1.0 - icc).sqrt()).ok()
    }

    /// From a published MDC95: MDC/(1.96·√2).
    ///
    /// # Errors
    /// [`SemError`] when it is negative or not finite.
    pub fn from_mdc95(mdc95: f64) -> Result<Self, SemError> {
        Self::new(mdc95 / (Z_95 * SQRT_2))
    }

    /// The number.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }

    /// 95 % interval of [`Sem::consistency`], by χ² of its degrees of freedom; `None` where that
    /// cannot be had.
    #[must_use]
    pub fn ci95(self, freedom: f64) -> Option<[f64; 2]> {
        let end = |p: f64| Some(self.0 * (freedom / quantile::chi_squared(p, freedom)?).sqrt());
        Some([finite(end(0.975)?)?, finite(end(0.025)?)?])
    }

    /// Of a mean of `count` trials: SEM/√k. Only for errors that differ from trial to trial.
    #[must_use]
    pub fn of_mean(self, count: std::num::NonZeroUsize) -> Self {
        Self(self.0 / (count.get() as f64).sqrt())
    }

    /// Minimal detectable change at 90 %: z·√2·SEM with z = 1.6449 (Weir 2005).
    #[must_use]
    pub fn mdc90(self) -> f64 {
        Z_90 * SQRT_2 * self.0
    }

    /// Minimal detectable change at 95 %: 1.96·√2·SEM (Weir 2005).
    #[must_use]
    pub fn mdc95(self) -> f64 {
        Z_95 * SQRT_2 * self.0
    }
}

/// Standard error of estimate, SD·√(ICC(1 − ICC)): of a true score told from an observed one (Weir
/// 2005); `None` unless `0 ≤ icc ≤ 1`.
#[must_use]
pub fn standard_error_of_estimate(sd: f64, icc: f64) -> Option<f64> {
    finite(sd * (icc * (1.0 - icc)).sqrt())
}

/// Standard error of prediction, SD·√(1 − ICC²): of a second score told from the first (Weir 2005);
/// `None` unless `-1 ≤ icc ≤ 1`.
#[must_use]
pub fn standard_error_of_prediction(sd: f64, icc: f64) -> Option<f64> {
    finite(sd * (1.0 - icc * icc).sqrt())
}

/// As the papers have it; the exact quantile is 1.959964.
const Z_95: f64 = 1.96;
const Z_90: f64 = 1.644_853_626_951_472_7;

#[cfg(test)]
mod tests {
    use std::num::NonZeroUsize;

    use super::*;

    /// Weir (2005), MDC = z·√2·SEM; values computed apart from this code.
    #[test]
    fn minimal_detectable_changes_are_the_computed_ones() {
        let rows = [
            (2.0, 4.652_348, 5.543_717, 3.200_667),
            (3.0, 6.978_523, 8.315_576, 4.801),
            (3.1, 7.211_14, 8.592_762, 4.961_033),
            (4.7, 10.933_019, 13.027_736, 7.521_567),
        ];
        let three = NonZeroUsize::new(3).unwrap();
        for (sem, mdc90, mdc95, of_three) in rows {
            let sem = Sem::new(sem).unwrap();
            assert!((sem.mdc90() - mdc90).abs() < 1e-5);
            assert!((sem.mdc95() - mdc95).abs() < 1e-5);
            assert!((sem.of_mean(three).mdc95() - of_three).abs() < 1e-5);
        }
        for (mdc95, sem) in [(5.4, 1.948_151), (6.1, 2.200_689), (8.6, 3.102_611), (8.0, 2.886_150)]
        {
            assert!((Sem::from_mdc95(mdc95).unwrap().value() - sem).abs() < 1e-5);
        }
    }

    #[test]
    fn what_is_no_error_of_measurement_is_refused() {
        for value in [-0.1, f64::NAN, f64::INFINITY] {
            assert!(Sem::new(value).is_err());
            assert!(Sem::from_mdc95(value).is_err());
        }
        assert_eq!(Sem::from_icc(7.0, 1.1), None);
        assert_eq!(standard_error_of_estimate(7.0, -0.1), None);
        assert_eq!(Sem::new(1.0).unwrap().ci95(0.0), None);
    }
}
