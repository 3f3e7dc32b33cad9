//! A hip that gives more at the second movement than at the first.
//!
//! Held tissue creeps, so the first repetition of a cold hip may fall short; a baseline that holds
//! it fakes a gain. What is looked for is a first repetition that falls short of the later ones by
//! more than these scatter (one-sided 97.5 %, Student's t), and by at least 2°. A stricter look would more
//! often take chance for loosening, and what is left out by chance makes the rest less certain than it
//! says.

use super::ends::Ends;
use super::looks::LEAST_REPETITIONS;
use crate::statistics::quantile;

/// A first baseline repetition that fell short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Loosening {
    /// By how much, degrees.
    pub(super) short_deg: f64,
    /// Whether the baseline has enough others, so that it could be left out.
    pub(super) left_out: bool,
}

impl Loosening {
    /// Of the larger of two; left out only if both are.
    pub(super) fn with(self, other: Self) -> Self {
        Self {
            short_deg: self.short_deg.max(other.short_deg),
            left_out: self.left_out && other.left_out,
        }
    }
}

/// Finds it in a baseline, and leaves the first repetition out of it if enough remain. `like` are
/// other end ranges of the same leg, which scatter alike.
pub(super) fn find(baseline: &Ends, like: &[&Ends]) -> Option<(Loosening, Ends)> {
    let short_deg = short(baseline, like)?;
    let later = baseline.only(1..);
    let left_out = later.count >= LEAST_REPETITIONS;
    let kept = if left_out { later } else { baseline.clone() };
    Some((Loosening { short_deg, left_out }, kept))
}

/// By how much the first falls short of the others, degrees, if that is more than scatter.
fn short(ends: &Ends, like: &[&Ends]) -> Option<f64> {
    let (first, later) = (ends.values.first()?, ends.only(1..));
    let short_deg = later.mean_deg? - first;
    let mut others: Vec<Ends> = like.iter().map(|ends| ends.only(1..)).collect();
    others.retain(|ends| ends.count > 0);
    let sum = |of: fn(&Ends) -> f64| of(&later) + others.iter().map(of).sum::<f64>();
    let (squares, freedom) = (sum(|ends| ends.squares), sum(|ends| ends.freedom));
    let spread = (squares / freedom * (1.0 + later.inverse_count)).sqrt();
    let limit = (quantile::student(0.975, freedom)? * spread).max(LEAST_DEG);
    (short_deg > limit).then_some(short_deg)
}

const LEAST_DEG: f64 = 2.0;
