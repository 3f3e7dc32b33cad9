//! The error of a change: variances of different certainty, added up.

use super::ends::Ends;
use super::unseen::Unseen;
use crate::statistics::quantile;

/// The error of a difference of two measurements.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ChangeError {
    /// Variance from the scatter of repetitions, degrees², and its degrees of freedom.
    shown: (f64, f64),
    /// Variance from what they cannot show, and its degrees of freedom.
    unseen: (f64, f64),
    /// Variance from the instrument, well known.
    instrument: f64,
}

impl ChangeError {
    /// `None` without a repetition to tell the scatter from.
    pub(super) fn of(before: &Ends, after: &Ends, unseen: &Unseen) -> Option<Self> {
        let freedom = before.freedom + after.freedom;
        if freedom < 1.0 || before.count == 0 || after.count == 0 {
            return None;
        }
        let scatter = (before.squares + after.squares) / freedom;
        Some(Self {
            shown: (scatter * (before.inverse_count + after.inverse_count), freedom),
            unseen: (unseen.variance, unseen.freedom),
            // Much of it is the same before and after and cancels; that it counts in full keeps the
            // interval on the safe side, by some hundredths of a degree.
            instrument: before.instrument_sd_deg.powi(2) + after.instrument_sd_deg.powi(2),
        })
    }

    /// Of one measurement by itself: it has half of what repetitions of a change cannot show. `None`
    /// without a second repetition to tell the scatter from.
    pub(super) fn of_one(ends: &Ends, unseen: &Unseen) -> Option<Self> {
        (ends.freedom >= 1.0).then(|| Self {
            shown: (ends.squares / ends.freedom * ends.inverse_count, ends.freedom),
            unseen: (unseen.variance / 2.0, unseen.freedom),
            instrument: ends.instrument_sd_deg.powi(2),
        })
    }

    /// Of a difference of two changes.
    pub(super) fn plus(&self, other: &Self) -> Self {
        Self {
            shown: pooled(self.shown, other.shown),
            unseen: pooled(self.unseen, other.unseen),
            instrument: self.instrument + other.instrument,
        }
    }

    /// Half the width of the interval at this confidence, degrees: Student's t with the degrees of
    /// freedom of a sum of variances (Satterthwaite, Biometrics Bull 1946; 2:110–114).
    pub(super) fn half_width(&self, confidence: f64) -> Option<f64> {
        let (variance, freedom) = pooled(self.shown, self.unseen);
        let (variance, freedom) = pooled((variance, freedom), (self.instrument, f64::INFINITY));
        Some(two_sided(confidence, freedom)? * variance.sqrt())
    }

    /// The same from the repetitions' scatter alone.
    pub(super) fn half_width_shown(&self, confidence: f64) -> Option<f64> {
        let (variance, freedom) = self.shown;
        Some(two_sided(confidence, freedom)? * variance.sqrt())
    }

    /// As it would be with other numbers of repetitions that scatter as these do: `ratio` is the new
    /// sum of inverse counts to the old one, `freedom` what is added.
    pub(super) fn with_more(&self, ratio: f64, freedom: f64) -> Self {
        Self { shown: (self.shown.0 * ratio, self.shown.1 + freedom), ..*self }
    }
}

/// Two variances added.
fn pooled(one: (f64, f64), two: (f64, f64)) -> (f64, f64) {
    let variance = one.0 + two.0;
    let spread = one.0 * one.0 / one.1 + two.0 * two.0 / two.1;
    let freedom = if spread > 0.0 { variance * variance / spread } else { f64::INFINITY };
    (variance, freedom)
}

/// The quantile that leaves half of the rest on either side.
pub(super) fn two_sided(confidence: f64, freedom: f64) -> Option<f64> {
    let p = f64::midpoint(1.0, confidence);
    // Beyond this Student's t is the normal distribution to all digits that are told.
    if freedom > 1e6 { quantile::normal(p) } else { quantile::student(p, freedom) }
}
