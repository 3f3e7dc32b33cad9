//! Which captured repetition is which found one: the same direction, and the same moment. The phase
//! does not tell: a person may have put it right since.

use endarc_analysis::result::Repetition;
use endarc_protocol::words::Direction;

use crate::store::records::RepetitionRecord;

/// How long after an end range was left another estimate of its moment may still lie, s: a capture
/// is told within 0.7 s.
const TOLERANCE_S: f64 = 0.7;

/// What one repetition is recognised by. All of one leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    direction: Direction,
    start_s: f64,
    end_range_at_s: f64,
    hold_s: f64,
}

impl From<&RepetitionRecord> for Span {
    fn from(record: &RepetitionRecord) -> Self {
        let (start_s, end_range_at_s, hold_s) = match &record.live {
            Some(live) => (live.start_s, live.end_range_at_s, live.hold_s),
            None => (record.start_s, record.end_range_at_s, record.hold_s),
        };
        Self { direction: record.direction, start_s, end_range_at_s, hold_s }
    }
}

impl From<&Repetition> for Span {
    fn from(repetition: &Repetition) -> Self {
        Self {
            direction: repetition.direction,
            start_s: repetition.start_s,
            end_range_at_s: repetition.end_range_at_s,
            hold_s: repetition.hold_s,
        }
    }
}

impl Span {
    /// Whether the other's moment lies within this movement.
    fn holds(&self, other: &Self) -> bool {
        let last_s = self.end_range_at_s + self.hold_s + TOLERANCE_S;
        (self.start_s..=last_s).contains(&other.end_range_at_s)
    }

    /// How far apart the moments are, s; `None` when these are two different repetitions.
    fn distance_s(&self, other: &Self) -> Option<f64> {
        let alike = self.direction == other.direction && (self.holds(other) || other.holds(self));
        alike.then(|| (self.end_range_at_s - other.end_range_at_s).abs())
    }
}

/// Two that are one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Pair {
    /// Its place among the captured ones.
    pub(crate) captured: usize,
    /// Its place among the found ones.
    pub(crate) found: usize,
}

/// Pairs them, the nearest first; each is in one pair at most.
pub(crate) fn pair(captured: &[Span], found: &[Span]) -> Vec<Pair> {
    let mut candidates = Vec::new();
    for (place, one) in captured.iter().enumerate() {
        for (other_place, other) in found.iter().enumerate() {
            if let Some(distance_s) = one.distance_s(other) {
                candidates.push((distance_s, Pair { captured: place, found: other_place }));
            }
        }
    }
    candidates.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    let mut pairs: Vec<Pair> = Vec::new();
    for (_, candidate) in candidates {
        let taken =
            |pair: &Pair| pair.captured == candidate.captured || pair.found == candidate.found;
        if !pairs.iter().any(taken) {
            pairs.push(candidate);
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(direction: Direction, start_s: f64, end_range_at_s: f64, hold_s: f64) -> Span {
        Span { direction, start_s, end_range_at_s, hold_s }
    }

    const INTERNAL: Direction = Direction::Internal;

    #[test]
    fn another_moment_of_the_same_hold_is_the_same_repetition() {
        let captured = [span(INTERNAL, 10.0, 12.1, 0.0), span(INTERNAL, 16.0, 18.0, 1.0)];
        let found = [span(INTERNAL, 10.2, 13.5, 3.0), span(INTERNAL, 16.1, 18.2, 1.1)];
        let pairs = pair(&captured, &found);
        assert_eq!(pairs.len(), 2);
        assert!(pairs.iter().all(|pair| pair.captured == pair.found));
    }

    #[test]
    fn each_is_paired_with_the_nearest_only_once() {
        let captured = [span(INTERNAL, 10.0, 12.0, 0.5), span(INTERNAL, 11.5, 12.6, 0.5)];
        let found = [span(INTERNAL, 10.0, 12.5, 0.5)];
        assert_eq!(pair(&captured, &found), [Pair { captured: 1, found: 0 }]);
    }

    #[test]
    fn another_direction_or_time_is_another_repetition() {
        let one = span(INTERNAL, 10.0, 12.0, 1.0);
        let external = Span { direction: Direction::External, ..one };
        let later = span(INTERNAL, 14.0, 16.0, 1.0);
        for other in [external, later] {
            assert_eq!(pair(&[one], &[other]), []);
        }
    }
}
