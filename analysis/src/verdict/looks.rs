//! Looking after every repetition, and stopping at the first that shows a change.
//!
//! Each look may be wrong, so all of them share the 5 %: they are spent as Lan & DeMets (Biometrika
//! 1983; 70:659–663) let one spend them, by the function that follows O'Brien & Fleming (Biometrics
//! 1979; 35:549–556), `α*(t) = 2 − 2Φ(z₀.₉₇₅/√t)` after a fraction t of the six repetitions that may be
//! made. A look uses what the function has released since the last. That the chances of being wrong
//! at any look add up at most (Boole's inequality) holds whatever the looks have in common, a
//! shifted end decision too; with joint distributions the limits would be a little lower.

use super::conditions::Looks;
use crate::statistics::quantile;

/// At most so many end ranges are made in one direction and phase.
pub const MOST_REPETITIONS: usize = 6;

/// Fewer on either side make no comparison.
pub const LEAST_REPETITIONS: usize = 3;

/// The confidence at which this comparison must be made, so that all together are wrong in 5 %.
/// `None` where no look was planned.
pub(super) fn confidence(looks: Looks, retest_count: usize) -> Option<f64> {
    match looks {
        Looks::Once => Some(0.95),
        Looks::AfterEach => {
            let count = retest_count.min(MOST_REPETITIONS);
            let before = match count.checked_sub(1)? {
                earlier if earlier >= LEAST_REPETITIONS => spent(earlier)?,
                _ => 0.0,
            };
            (count >= LEAST_REPETITIONS).then_some(1.0 - (spent(count)? - before))
        }
    }
}

/// The chance of a wrong claim that may have been spent after so many repetitions.
fn spent(count: usize) -> Option<f64> {
    let fraction = count as f64 / MOST_REPETITIONS as f64;
    let z = quantile::normal(0.975)? / fraction.sqrt();
    Some(2.0 * (1.0 - quantile::normal_at_most(z)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lan & DeMets (1983): the O'Brien–Fleming-like function at a half is 2 − 2Φ(1.96·√2) = 0.00557,
    /// and at the end all of the 5 % (Φ from tables).
    #[test]
    fn the_whole_of_the_error_is_spent_at_the_end_and_no_more() {
        assert!((spent(3).unwrap() - 0.005_57).abs() < 1e-4);
        assert!((spent(6).unwrap() - 0.05).abs() < 1e-9);
        let all: f64 =
            (3..=6).map(|count| 1.0 - confidence(Looks::AfterEach, count).unwrap()).sum();
        assert!((all - 0.05).abs() < 1e-9);
        assert_eq!(confidence(Looks::AfterEach, 2), None);
        assert_eq!(confidence(Looks::AfterEach, 9), confidence(Looks::AfterEach, 6));
    }
}
