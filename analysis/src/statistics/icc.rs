//! Intraclass correlations in the six forms of Shrout & Fleiss (1979), with 95 % intervals.

use super::finite;
use super::mean_squares::MeanSquares;
use super::quantile::fisher;

/// Which intraclass correlation (Shrout & Fleiss, Psychol Bull 1979; 86:420–428).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum IccForm {
    /// (1,1): each target rated by others; one rating.
    OneWay,
    /// (2,1): the same raters, a sample of all; absolute agreement; one rating.
    Agreement,
    /// (3,1): these raters only; consistency; one rating.
    Consistency,
    /// (1,k): as (1,1), the mean of all ratings.
    OneWayMean,
    /// (2,k): as (2,1), the mean of all ratings.
    AgreementMean,
    /// (3,k): as (3,1), the mean of all ratings.
    ConsistencyMean,
}

impl IccForm {
    /// Every form.
    pub const ALL: [Self; 6] = [
        Self::OneWay,
        Self::Agreement,
        Self::Consistency,
        Self::OneWayMean,
        Self::AgreementMean,
        Self::ConsistencyMean,
    ];
}

/// An intraclass correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Icc {
    /// The estimate; may be negative.
    pub value: f64,
    /// Its 95 % interval; `None` where the residual is nothing.
    pub ci95: Option<[f64; 2]>,
}

/// One value per form; `None` where it is nought by nought (all ratings alike).
#[must_use]
pub fn icc(squares: &MeanSquares, form: IccForm) -> Option<Icc> {
    let MeanSquares { targets: n, raters: k, .. } = *squares;
    let (row, column) = (squares.between_targets, squares.between_raters);
    let (within, rest) = (squares.within_targets, squares.residual);
    let value = match form {
        IccForm::OneWay => (row - within) / (row + (k - 1.0) * within),
        IccForm::OneWayMean => (row - within) / row,
        IccForm::Agreement => (row - rest) / (row + (k - 1.0) * rest + k * (column - rest) / n),
        IccForm::AgreementMean => (row - rest) / (row + (column - rest) / n),
        IccForm::Consistency => (row - rest) / (row + (k - 1.0) * rest),
        IccForm::ConsistencyMean => (row - rest) / row,
    };
    Some(Icc { value: finite(value)?, ci95: interval(squares, form).and_then(both_finite) })
}

fn interval(squares: &MeanSquares, form: IccForm) -> Option<[f64; 2]> {
    let (n, k) = (squares.targets, squares.raters);
    let row = squares.between_targets;
    let one_way = || by_f(row / squares.within_targets, n - 1.0, n * (k - 1.0));
    let consistency = || by_f(row / squares.residual, n - 1.0, squares.residual_freedom());
    match form {
        IccForm::OneWay => Some(one_way()?.map(|f| (f - 1.0) / (f + k - 1.0))),
        IccForm::OneWayMean => Some(one_way()?.map(|f| 1.0 - 1.0 / f)),
        IccForm::Consistency => Some(consistency()?.map(|f| (f - 1.0) / (f + k - 1.0))),
        IccForm::ConsistencyMean => Some(consistency()?.map(|f| 1.0 - 1.0 / f)),
        IccForm::Agreement => agreement(squares),
        IccForm::AgreementMean => Some(agreement(squares)?.map(|one| spearman_brown(one, k))),
    }
}

/// An F value divided, and multiplied, by its 97.5 % quantiles.
fn by_f(f: f64, above: f64, below: f64) -> Option<[f64; 2]> {
    let f = finite(f)?;
    Some([f / fisher(0.975, above, below)?, f * fisher(0.975, below, above)?])
}

/// The interval of (2,1) by Satterthwaite's degrees of freedom (Shrout & Fleiss 1979, p. 424;
/// McGraw & Wong, Psychol Methods 1996; 1:30–46, table 7; formula from memory, held against
/// computed values of independent programs).
fn agreement(squares: &MeanSquares) -> Option<[f64; 2]> {
    let MeanSquares { targets: n, raters: k, .. } = *squares;
    let (row, column, rest) = (squares.between_targets, squares.between_raters, squares.residual);
    let icc = (row - rest) / (row + (k - 1.0) * rest + k * (column - rest) / n);
    let a = k * icc / (n * (1.0 - icc));
    let b = 1.0 + k * icc * (n - 1.0) / (n * (1.0 - icc));
    let freedom = (a * column + b * rest).powi(2)
        / ((a * column).powi(2) / (k - 1.0) + (b * rest).powi(2) / squares.residual_freedom());
    let low_f = fisher(0.975, n - 1.0, freedom)?;
    let high_f = fisher(0.975, freedom, n - 1.0)?;
    let others = k * column + (k * n - k - n) * rest;
    Some([
        n * (row - low_f * rest) / (low_f * others + n * row),
        n * (high_f * row - rest) / (others + n * high_f * row),
    ])
}

/// The reliability of a mean of `k` from that of one (Spearman 1910; Brown 1910).
fn spearman_brown(one: f64, k: f64) -> f64 {
    k * one / (1.0 + (k - 1.0) * one)
}

fn both_finite(interval: [f64; 2]) -> Option<[f64; 2]> {
    interval.iter().all(|end| end.is_finite()).then_some(interval)
}

/// Words for an intraclass correlation (Koo & Li, J Chiropr Med 2016; 15:155–163). They are meant for
/// the ends of its interval, not for the estimate alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Band {
    /// Below 0.5.
    Poor,
    /// From 0.5.
    Moderate,
    /// From 0.75; 0.90 itself, which the paper leaves open, is counted here.
    Good,
    /// Above 0.90.
    Excellent,
}

impl Band {
    /// Of one value; `None` for NaN.
    #[must_use]
    pub fn of(value: f64) -> Option<Self> {
        match value {
            value if value > 0.90 => Some(Self::Excellent),
            value if value >= 0.75 => Some(Self::Good),
            value if value >= 0.5 => Some(Self::Moderate),
            value if value < 0.5 => Some(Self::Poor),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::Ratings;

    /// Koo & Li (2016), abstract; 0.90 is our choice.
    #[test]
    fn bands_begin_where_the_paper_says() {
        use Band::{Excellent, Good, Moderate, Poor};
        let expected = [
            (0.49, Poor),
            (0.50, Moderate),
            (0.74, Moderate),
            (0.75, Good),
            (0.89, Good),
            (0.90, Good),
            (0.91, Excellent),
        ];
        for (value, band) in expected {
            assert_eq!(Band::of(value), Some(band), "{value}");
        }
        assert_eq!(Band::of(f64::NAN), None);
    }

    #[test]
    fn ratings_that_are_all_alike_have_no_correlation() {
        let squares = MeanSquares::of(&Ratings::new(&[[3.0, 3.0], [3.0, 3.0]]).unwrap());
        for form in IccForm::ALL {
            assert_eq!(icc(&squares, form), None, "{form:?}");
        }
    }

    /// Without any error the correlation is one, and nothing can be said of its interval.
    #[test]
    fn ratings_without_error_agree_fully() {
        let squares = MeanSquares::of(&Ratings::new(&[[3.0, 3.0], [5.0, 5.0]]).unwrap());
        for form in IccForm::ALL {
            assert_eq!(icc(&squares, form), Some(Icc { value: 1.0, ci95: None }), "{form:?}");
        }
    }
}
