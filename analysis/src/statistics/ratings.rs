//! A full table of ratings: every target rated by every rater, or measured in every trial.

use super::mean;

/// Targets × raters (or hips × trials, persons × replicates), without holes, every value finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratings {
    values: Vec<f64>,
    raters: usize,
}

/// Why a table is no [`Ratings`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RatingsError {
    /// Nothing can be told of the spread between fewer than two targets.
    #[error("{count} target(s): at least 2 are needed")]
    TooFewTargets {
        /// How many there are.
        count: usize,
    },
    /// Nothing can be told of the error from fewer than two ratings of each.
    #[error("{count} rating(s) of each target: at least 2 are needed")]
    TooFewRaters {
        /// How many there are.
        count: usize,
    },
    /// A row is shorter or longer than the first.
    #[error(
        "target {target} has {got} ratings, the first has {expected}: leave out targets that were not rated by everyone"
    )]
    Ragged {
        /// Which target, from 1.
        target: usize,
        /// Its number of ratings.
        got: usize,
        /// That of the first.
        expected: usize,
    },
    /// A value is NaN or infinite.
    #[error("target {target}, rating {rating} is not a finite number")]
    NotFinite {
        /// Which target, from 1.
        target: usize,
        /// Which rating of it, from 1.
        rating: usize,
    },
}

impl Ratings {
    /// One row per target.
    ///
    /// # Errors
    /// Any [`RatingsError`].
    pub fn new<Row: AsRef<[f64]>>(rows: &[Row]) -> Result<Self, RatingsError> {
        if rows.len() < 2 {
            return Err(RatingsError::TooFewTargets { count: rows.len() });
        }
        let expected = rows.first().map_or(0, |row| row.as_ref().len());
        if expected < 2 {
            return Err(RatingsError::TooFewRaters { count: expected });
        }
        let mut values = Vec::with_capacity(rows.len() * expected);
        for (place, row) in rows.iter().enumerate() {
            let (target, row) = (place + 1, row.as_ref());
            if row.len() != expected {
                return Err(RatingsError::Ragged { target, got: row.len(), expected });
            }
            if let Some(place) = row.iter().position(|value| !value.is_finite()) {
                return Err(RatingsError::NotFinite { target, rating: place + 1 });
            }
            values.extend_from_slice(row);
        }
        Ok(Self { values, raters: expected })
    }

    /// How many targets; at least 2.
    #[must_use]
    pub const fn targets(&self) -> usize {
        self.values.len() / self.raters
    }

    /// How many ratings of each; at least 2.
    #[must_use]
    pub const fn raters(&self) -> usize {
        self.raters
    }

    /// The ratings of each target.
    pub fn rows(&self) -> impl Iterator<Item = &[f64]> {
        self.values.chunks_exact(self.raters)
    }

    /// The mean over each rater's column.
    pub fn rater_means(&self) -> impl Iterator<Item = f64> {
        (0..self.raters).map(|rater| {
            let column = self.values.iter().skip(rater).step_by(self.raters);
            column.sum::<f64>() / self.targets() as f64
        })
    }

    /// The mean of all.
    #[must_use]
    pub fn grand_mean(&self) -> f64 {
        mean(&self.values)
    }

    /// Every value, row by row.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_cannot_be_used_says_where_and_why() {
        let refused = |rows: &[&[f64]]| Ratings::new(rows).unwrap_err();
        assert_eq!(refused(&[&[1.0, 2.0]]), RatingsError::TooFewTargets { count: 1 });
        assert_eq!(refused(&[&[1.0], &[2.0]]), RatingsError::TooFewRaters { count: 1 });
        assert_eq!(
            refused(&[&[1.0, 2.0], &[1.0]]),
            RatingsError::Ragged { target: 2, got: 1, expected: 2 }
        );
        assert_eq!(
            refused(&[&[1.0, 2.0], &[1.0, f64::NAN]]),
            RatingsError::NotFinite { target: 2, rating: 2 }
        );
    }
}
