//! Quantiles and tails of the distributions that intervals rest on, from `statrs`.

use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, Normal, StudentsT};

use super::finite;

/// Quantile of the standard normal distribution; `None` unless `0 < p < 1`.
#[must_use]
pub fn normal(p: f64) -> Option<f64> {
    inside(p).and_then(|p| finite(Normal::standard().inverse_cdf(p)))
}

/// Probability that a standard normal value is at most `x`; `None` for NaN.
#[must_use]
pub fn normal_at_most(x: f64) -> Option<f64> {
    (!x.is_nan()).then(|| Normal::standard().cdf(x))
}

/// Quantile of Student's t; `None` unless `0 < p < 1` and `freedom > 0`. Freedom need not be whole.
#[must_use]
pub fn student(p: f64, freedom: f64) -> Option<f64> {
    let p = inside(p)?;
    let freedom = finite(freedom)?;
    StudentsT::new(0.0, 1.0, freedom).ok().and_then(|t| finite(t.inverse_cdf(p)))
}

/// Two-sided probability of a value of Student's t at least as far from zero as `t`.
#[must_use]
pub fn student_beyond(t: f64, freedom: f64) -> Option<f64> {
    let (t, freedom) = (finite(t)?, finite(freedom)?);
    StudentsT::new(0.0, 1.0, freedom).ok().and_then(|d| finite(2.0 * d.cdf(-t.abs())))
}

/// Quantile of Fisher's F; `None` unless `0 < p < 1` and both freedoms are above zero. They need
/// not be whole.
#[must_use]
pub fn fisher(p: f64, above: f64, below: f64) -> Option<f64> {
    let p = inside(p)?;
    let (above, below) = (finite(above)?, finite(below)?);
    FisherSnedecor::new(above, below).ok().and_then(|f| finite(f.inverse_cdf(p)))
}

/// Probability of a value of Fisher's F above `f`.
#[must_use]
pub fn fisher_above(f: f64, above: f64, below: f64) -> Option<f64> {
    let (f, above, below) = (finite(f)?, finite(above)?, finite(below)?);
    FisherSnedecor::new(above, below).ok().and_then(|d| finite(d.sf(f)))
}

/// Quantile of the χ² distribution; `None` unless `0 < p < 1` and `freedom > 0`.
#[must_use]
pub fn chi_squared(p: f64, freedom: f64) -> Option<f64> {
    let p = inside(p)?;
    let freedom = finite(freedom)?;
    ChiSquared::new(freedom).ok().and_then(|d| finite(d.inverse_cdf(p)))
}

/// `statrs` panics at what is no probability, and the ends have no finite quantile.
fn inside(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then_some(p)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7, tables of critical values
    /// (to the digits printed there).
    #[test]
    fn quantiles_are_those_of_the_tables() {
        assert!((normal(0.975).unwrap() - 1.959_964).abs() < 1e-6);
        assert!((student(0.975, 16.0).unwrap() - 2.120).abs() < 5e-4);
        assert!((fisher(0.95, 5.0, 15.0).unwrap() - 2.901).abs() < 5e-4);
        assert!((chi_squared(0.975, 10.0).unwrap() - 20.483).abs() < 5e-4);
    }

    #[test]
    fn what_has_no_quantile_gives_none() {
        for p in [0.0, 1.0, -0.1, f64::NAN] {
            assert_eq!(normal(p), None);
            assert_eq!(student(p, 3.0), None);
            assert_eq!(fisher(p, 3.0, 3.0), None);
            assert_eq!(chi_squared(p, 3.0), None);
        }
        for freedom in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(student(0.9, freedom), None);
            assert_eq!(fisher(0.9, freedom, 3.0), None);
            assert_eq!(chi_squared(0.9, freedom), None);
        }
    }
}
