//! The end ranges of one measurement, as a mean with its scatter.

use endarc_protocol::words::{Direction, Phase, Side};

use crate::result::{Flag, Repetition};

/// The end ranges of one leg, direction and phase, by time; or sums of two directions.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Ends {
    /// Each, degrees; empty for a sum.
    pub(super) values: Vec<f64>,
    /// Repetitions it rests on; of a sum the fewer.
    pub(super) count: usize,
    /// Their mean, degrees.
    pub(super) mean_deg: Option<f64>,
    /// Sum of squares around the mean, degrees², and its degrees of freedom.
    pub(super) squares: f64,
    /// See [`Self::squares`].
    pub(super) freedom: f64,
    /// Variance of the mean in units of the scatter's: 1/k, or a sum of such.
    pub(super) inverse_count: f64,
    /// One standard uncertainty of the instrument, degrees.
    pub(super) instrument_sd_deg: f64,
    /// Mean knee flexion, degrees, where it is known.
    pub(super) knee_flexion_deg: Option<f64>,
    /// Whether the strap moved before or among them.
    pub(super) strap_moved: bool,
    /// Whether two end decisions are in it.
    pub(super) is_sum: bool,
}

impl Ends {
    /// Of one direction, those of a set of repetitions.
    pub(super) fn of(
        side: Side,
        direction: Direction,
        phase: Phase,
        repetitions: &[Repetition],
    ) -> Self {
        let own: Vec<&Repetition> = repetitions
            .iter()
            .filter(|r| r.side == side && r.direction == direction && r.phase == phase)
            .filter(|r| r.end_range_deg.is_finite() && r.uncertainty_deg.is_finite())
            .collect();
        let knees: Vec<f64> =
            own.iter().filter_map(|r| r.knee_flexion_deg.filter(|knee| knee.is_finite())).collect();
        let values: Vec<f64> = own.iter().map(|r| r.end_range_deg).collect();
        let instrument: Vec<f64> = own.iter().map(|r| r.uncertainty_deg).collect();
        Self {
            instrument_sd_deg: mean(&instrument).unwrap_or(0.0),
            // The knee bend's own angle is its result, not its position.
            knee_flexion_deg: mean(&knees).filter(|_| direction != Direction::Flexion),
            strap_moved: own.iter().any(|r| r.flags.contains(&Flag::StrapMoved)),
            ..Self::of_values(values)
        }
    }

    fn of_values(values: Vec<f64>) -> Self {
        let Some(mean_deg) = mean(&values) else { return Self::default() };
        let count = values.len() as f64;
        Self {
            count: values.len(),
            mean_deg: Some(mean_deg),
            squares: values.iter().map(|value| (value - mean_deg).powi(2)).sum(),
            freedom: count - 1.0,
            inverse_count: 1.0 / count,
            values,
            ..Self::default()
        }
    }

    /// Only some of them.
    pub(super) fn only(&self, which: impl std::ops::RangeBounds<usize>) -> Self {
        let within = self.values.iter().enumerate().filter(|(place, _)| which.contains(place));
        let values = within.map(|(_, value)| *value).collect();
        Self {
            instrument_sd_deg: self.instrument_sd_deg,
            knee_flexion_deg: self.knee_flexion_deg,
            strap_moved: self.strap_moved,
            ..Self::of_values(values)
        }
    }

    /// Internal and external together: total rotation.
    pub(super) fn plus(&self, other: &Self) -> Self {
        Self {
            values: Vec::new(),
            count: self.count.min(other.count),
            mean_deg: self.mean_deg.zip(other.mean_deg).map(|(a, b)| a + b),
            squares: self.squares + other.squares,
            freedom: self.freedom + other.freedom,
            inverse_count: self.inverse_count + other.inverse_count,
            instrument_sd_deg: self.instrument_sd_deg.hypot(other.instrument_sd_deg),
            knee_flexion_deg: self
                .knee_flexion_deg
                .zip(other.knee_flexion_deg)
                .map(|(a, b)| f64::midpoint(a, b)),
            strap_moved: self.strap_moved || other.strap_moved,
            is_sum: true,
        }
    }
}

/// By how much the mean knee flexion of two measurements differs, degrees, where that is too much to
/// compare them; `None` too where it is not known.
pub(super) fn knees_apart(one: &Ends, other: &Ends) -> Option<f64> {
    let apart = (other.knee_flexion_deg? - one.knee_flexion_deg?).abs();
    (apart > MOST_KNEE_CHANGE_DEG).then_some(apart)
}

/// A knee that is bent otherwise changes what the shank shows, and the muscles' length.
const MOST_KNEE_CHANGE_DEG: f64 = 10.0;

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}
