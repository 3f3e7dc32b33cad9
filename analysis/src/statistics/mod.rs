//! Reliability and agreement: how far two measurements of the same hip differ when nothing changed.
//!
//! Plain functions of validated tables. What cannot be computed is `None`, never NaN. Quantiles come
//! from `statrs`. Each formula names its source; the tests hold each against published examples.

pub mod agreement;
pub mod concordance;
pub mod days;
pub mod icc;
pub mod mean_squares;
pub mod paired;
pub mod quantile;
pub mod ratings;
pub mod repeatability;
pub mod replicates;
pub mod sample_size;
pub mod sem;

#[cfg(test)]
mod examples;

pub use agreement::{Agreement, Differences, Limit, LimitError, Multiplier};
pub use days::{Components, Days, DaysError};
pub use icc::{Band, Icc, IccForm};
pub use mean_squares::MeanSquares;
pub use ratings::{Ratings, RatingsError};
pub use sem::{Sem, SemError};

/// An estimate that may not exist, without NaN or infinity.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// Arithmetic mean; NaN of nothing, which callers exclude.
fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sum of squares around the mean.
fn squares(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|value| (value - mean).powi(2)).sum()
}
