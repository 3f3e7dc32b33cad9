//! Analysis of variance of a table of ratings: what every intraclass correlation is made of.

use super::quantile;
use super::ratings::Ratings;
use super::{finite, mean};

/// Mean squares of a [`Ratings`] table (Shrout & Fleiss, Psychol Bull 1979; 86:420–428, table 3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanSquares {
    /// Number of targets, n.
    pub targets: f64,
    /// Number of ratings of each, k.
    pub raters: f64,
    /// Between targets, n − 1 degrees of freedom.
    pub between_targets: f64,
    /// Between raters, k − 1 degrees of freedom.
    pub between_raters: f64,
    /// Residual, (n − 1)(k − 1) degrees of freedom.
    pub residual: f64,
    /// Within targets (raters and residual together), n(k − 1) degrees of freedom.
    pub within_targets: f64,
    /// Sum of all squares around the grand mean, nk − 1 degrees of freedom.
    pub total_squares: f64,
}

impl MeanSquares {
    /// Of a table.
    #[must_use]
    pub fn of(ratings: &Ratings) -> Self {
        let (n, k) = (ratings.targets() as f64, ratings.raters() as f64);
        let grand = ratings.grand_mean();
        let away = |value: f64| (value - grand).powi(2);
        let targets = k * ratings.rows().map(|row| away(mean(row))).sum::<f64>();
        let raters = n * ratings.rater_means().map(away).sum::<f64>();
        let total: f64 = ratings.values().iter().copied().map(away).sum();
        // Rounding may leave a residual a little below nothing.
        let residual = (total - targets - raters).max(0.0);
        Self {
            targets: n,
            raters: k,
            between_targets: targets / (n - 1.0),
            between_raters: raters / (k - 1.0),
            residual: residual / ((n - 1.0) * (k - 1.0)),
            within_targets: (raters + residual) / (n * (k - 1.0)),
            total_squares: total,
        }
    }

    /// Degrees of freedom of the residual, (n − 1)(k − 1).
    #[must_use]
    pub fn residual_freedom(&self) -> f64 {
        (self.targets - 1.0) * (self.raters - 1.0)
    }

    /// F of the targets against the residual, and its probability if all targets were alike;
    /// `None` without a residual.
    #[must_use]
    pub fn targets_test(&self) -> Option<(f64, f64)> {
        let f = finite(self.between_targets / self.residual)?;
        Some((f, quantile::fisher_above(f, self.targets - 1.0, self.residual_freedom())?))
    }
}
