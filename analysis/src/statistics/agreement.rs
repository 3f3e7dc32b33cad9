//! Limits of agreement of two measurements of the same things (Bland & Altman).

use super::{mean, quantile, squares};

/// Differences of pairs: at least two, every one finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Differences(Vec<f64>);

/// Why pairs give no [`Differences`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DifferencesError {
    /// Nothing can be told of the spread of fewer than two.
    #[error("{count} pair(s): at least 2 are needed")]
    TooFew {
        /// How many there are.
        count: usize,
    },
    /// A value is NaN or infinite.
    #[error("pair {pair} is not finite")]
    NotFinite {
        /// Which pair, from 1.
        pair: usize,
    },
}

/// How many standard deviations from the bias a limit lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Multiplier {
    /// 2, as in the paper of 1986.
    Two,
    /// 1.96, as in the paper of 1999.
    Usual,
    /// The exact 97.5 % quantile, 1.959964.
    Exact,
}

impl Multiplier {
    /// The number.
    #[must_use]
    pub const fn value(self) -> f64 {
        match self {
            Self::Two => 2.0,
            Self::Usual => 1.96,
            Self::Exact => 1.959_963_984_540_054,
        }
    }
}

/// How the standard error of a limit is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitError {
    /// √(3s²/n) (Bland & Altman, Lancet 1986; i:307–310): the multiplier taken as 2, n large.
    Of1986,
    /// s·√(1/n + z²/(2(n − 1))) (Bland & Altman, Stat Methods Med Res 1999; 8:135–160, section 2.1).
    Of1999,
}

/// A limit of agreement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Where it lies.
    pub value: f64,
    /// Its 95 % interval, by Student's t with n − 1 degrees of freedom.
    pub ci95: [f64; 2],
}

/// How far two ways of measuring agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// Mean difference.
    pub bias: f64,
    /// Standard deviation of the differences.
    pub sd: f64,
    /// Standard error of the bias.
    pub bias_error: f64,
    /// 95 % interval of the bias, by Student's t.
    pub bias_ci95: [f64; 2],
    /// Standard error of either limit.
    pub limit_error: f64,
    /// Lower limit.
    pub lower: Limit,
    /// Upper limit.
    pub upper: Limit,
}

impl Differences {
    /// First minus second of each pair.
    ///
    /// # Errors
    /// Any [`DifferencesError`].
    pub fn of(pairs: impl IntoIterator<Item = (f64, f64)>) -> Result<Self, DifferencesError> {
        let differences: Vec<f64> =
            pairs.into_iter().map(|(first, second)| first - second).collect();
        if differences.len() < 2 {
            return Err(DifferencesError::TooFew { count: differences.len() });
        }
        match differences.iter().position(|one| !one.is_finite()) {
            Some(place) => Err(DifferencesError::NotFinite { pair: place + 1 }),
            None => Ok(Self(differences)),
        }
    }

    /// How many; at least 2.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.0.len()
    }

    /// Mean difference.
    #[must_use]
    pub fn mean(&self) -> f64 {
        mean(&self.0)
    }

    /// Standard deviation, n − 1.
    #[must_use]
    pub fn sd(&self) -> f64 {
        (squares(&self.0) / (self.0.len() - 1) as f64).sqrt()
    }

    /// The differences.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.0
    }

    /// Bias and limits with their intervals; `None` only where Student's t cannot be had.
    #[must_use]
    pub fn agreement(&self, multiplier: Multiplier, error: LimitError) -> Option<Agreement> {
        let (n, sd) = (self.0.len() as f64, self.sd());
        let limit_error = match error {
            LimitError::Of1986 => (3.0 * sd * sd / n).sqrt(),
            LimitError::Of1999 => {
                sd * (1.0 / n + multiplier.value().powi(2) / (2.0 * (n - 1.0))).sqrt()
            }
        };
        Agreement::around(self.mean(), sd, (sd / n.sqrt(), limit_error), multiplier, n - 1.0)
    }
}

impl Agreement {
    /// From a bias and a standard deviation with their errors.
    pub(super) fn around(
        bias: f64,
        sd: f64,
        (bias_error, limit_error): (f64, f64),
        multiplier: Multiplier,
        freedom: f64,
    ) -> Option<Self> {
        let t = quantile::student(0.975, freedom)?;
        let about = |value: f64, error: f64| [value - t * error, value + t * error];
        let limit = |sign: f64| {
            let value = bias + sign * multiplier.value() * sd;
            Limit { value, ci95: about(value, limit_error) }
        };
        Some(Self {
            bias,
            sd,
            bias_error,
            bias_ci95: about(bias, bias_error),
            limit_error,
            lower: limit(-1.0),
            upper: limit(1.0),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_that_cannot_be_used_say_why() {
        let one = Differences::of([(1.0, 2.0)]);
        assert_eq!(one, Err(DifferencesError::TooFew { count: 1 }));
        let hole = Differences::of([(1.0, 2.0), (f64::NAN, 1.0)]);
        assert_eq!(hole, Err(DifferencesError::NotFinite { pair: 2 }));
    }
}
