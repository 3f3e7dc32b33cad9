//! How many subjects a reliability study needs.

use super::{finite, quantile};

/// Subjects for a 95 % interval of an intraclass correlation not wider than `width`, where `icc` is
/// expected with `raters` ratings of each: n = 8z²(1 − ρ)²(1 + (k − 1)ρ)²/(k(k − 1)w²) + 1 (Bonett,
/// Stat Med 2002; 21:1331–1335). `None` unless `0 ≤ icc < 1`, `raters ≥ 2` and `0 < width < 2`.
#[must_use]
pub fn subjects_for_icc(icc: f64, raters: usize, width: f64) -> Option<usize> {
    let possible = (0.0..1.0).contains(&icc) && raters >= 2 && width > 0.0 && width < 2.0;
    if !possible {
        return None;
    }
    whole(bonett(icc, raters as f64, width)?)
}

fn bonett(icc: f64, k: f64, width: f64) -> Option<f64> {
    let z = quantile::normal(0.975)?;
    let spread = (1.0 - icc) * (1.0 + (k - 1.0) * icc);
    finite(8.0 * (z * spread).powi(2) / (k * (k - 1.0) * width * width) + 1.0)
}

/// Subjects, each rated `raters` times, so that the upper end of the 95 % interval of the standard error
/// of measurement is at most `ratio` times its estimate (by χ² of (n − 1)(k − 1) degrees of
/// freedom). `None` unless `raters ≥ 2` and `ratio` is above 1 by at least one per cent.
#[must_use]
pub fn subjects_for_sem(raters: usize, ratio: f64) -> Option<usize> {
    if raters < 2 || !ratio.is_finite() || ratio < 1.01 {
        return None;
    }
    let excess = |subjects: usize| {
        let freedom = ((subjects - 1) * (raters - 1)) as f64;
        Some((freedom / quantile::chi_squared(0.025, freedom)?).sqrt())
    };
    // Twenty thousand degrees of freedom are enough for one per cent.
    (2..=20_001).find(|&subjects| excess(subjects).is_some_and(|found| found <= ratio))
}

fn whole(subjects: f64) -> Option<usize> {
    (subjects < 1e9).then(|| subjects.ceil() as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bonett (2002): ρ 0.85, four raters, width 0.2: 19.15, so 20.
    #[test]
    fn the_published_example_needs_twenty() {
        assert!((bonett(0.85, 4.0, 0.2).unwrap() - 19.1545).abs() < 1e-3);
        assert_eq!(subjects_for_icc(0.85, 4, 0.2), Some(20));
        assert_eq!(subjects_for_icc(1.0, 4, 0.2), None);
        assert_eq!(subjects_for_icc(0.85, 1, 0.2), None);
        assert_eq!(subjects_for_icc(0.85, 4, f64::NAN), None);
    }

    /// χ²(0.025; 50) = 32.357 (NIST e-Handbook 1.3.6.7.4): √(50/32.357) = 1.2431.
    #[test]
    fn the_error_of_measurement_is_known_within_a_quarter_from_fifty_one() {
        assert_eq!(subjects_for_sem(2, 1.2432), Some(51));
        assert_eq!(subjects_for_sem(2, 1.2430), Some(52));
        assert_eq!(subjects_for_sem(1, 1.2), None);
        assert_eq!(subjects_for_sem(2, 1.0), None);
    }
}
