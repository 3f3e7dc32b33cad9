//! Correlation and concordance of pairs. Neither says how large an error is; agreement does.

use super::{finite, mean};

/// Pearson's correlation; `None` with fewer than two pairs or where one side does not vary.
#[must_use]
pub fn pearson(pairs: &[(f64, f64)]) -> Option<f64> {
    let moments = Moments::of(pairs)?;
    finite(moments.together / (moments.first * moments.second).sqrt())
}

/// Lin's concordance correlation with population variances (Lin, Biometrics 1989; 45:255–268);
/// `None` with fewer than two pairs or where nothing varies.
#[must_use]
pub fn concordance(pairs: &[(f64, f64)]) -> Option<f64> {
    let moments = Moments::of(pairs)?;
    let apart = moments.means.0 - moments.means.1;
    finite(2.0 * moments.together / (moments.first + moments.second + apart * apart))
}

/// Means, population variances and covariance.
struct Moments {
    means: (f64, f64),
    first: f64,
    second: f64,
    together: f64,
}

impl Moments {
    fn of(pairs: &[(f64, f64)]) -> Option<Self> {
        if pairs.len() < 2 {
            return None;
        }
        let (first, second): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
        let means = (mean(&first), mean(&second));
        let over = |product: fn(f64, f64) -> f64| {
            let products = pairs.iter().map(|(a, b)| product(a - means.0, b - means.1));
            products.sum::<f64>() / pairs.len() as f64
        };
        Some(Self {
            means,
            first: over(|a, _| a * a),
            second: over(|_, b| b * b),
            together: over(|a, b| a * b),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_vary_has_no_correlation() {
        assert_eq!(pearson(&[(1.0, 2.0), (1.0, 3.0)]), None);
        assert_eq!(concordance(&[(1.0, 1.0), (1.0, 1.0)]), None);
        assert_eq!(pearson(&[(1.0, 2.0)]), None);
    }
}
