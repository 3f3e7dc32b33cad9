//! Which measured repetition is which true one.

use endarc_analysis::result::Repetition;
use endarc_simulator::TruthRepetition;

/// How long after the hold an end range may still be dated, s: a live capture is told within 0.6 s
/// of the end.
const AFTER_HOLD_S: f64 = 0.6;

/// Measured and true repetitions, paired; and those that have no partner.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matches {
    /// Measured, with the truth.
    pub matched: Vec<(Repetition, TruthRepetition)>,
    /// True, not measured.
    pub missed: Vec<TruthRepetition>,
    /// Measured, not true.
    pub invented: Vec<Repetition>,
}

/// Pairs them by side, phase, direction and time, in the order of the measured ones; each true one
/// is taken once.
#[must_use]
pub fn matches(measured: &[Repetition], truth: &[TruthRepetition]) -> Matches {
    let mut matches = Matches { missed: truth.to_vec(), ..Matches::default() };
    for repetition in measured {
        match matches.missed.iter().position(|truth| is_one(repetition, truth)) {
            Some(place) => {
                let truth = matches.missed.remove(place);
                matches.matched.push((repetition.clone(), truth));
            }
            None => matches.invented.push(repetition.clone()),
        }
    }
    matches
}

fn is_one(measured: &Repetition, truth: &TruthRepetition) -> bool {
    let last_s = truth.hold_start_s + truth.hold_s + AFTER_HOLD_S;
    measured.side == truth.side
        && measured.phase == truth.phase
        && measured.direction == truth.direction
        && (truth.start_s..=last_s).contains(&measured.end_range_at_s)
}

#[cfg(test)]
mod tests {
    use endarc_protocol::words::{Direction, Phase, Side};
    use endarc_simulator::Style;

    use super::*;

    fn truth(start_s: f64) -> TruthRepetition {
        TruthRepetition {
            side: Side::Left,
            phase: Phase::Baseline,
            direction: Direction::Internal,
            style: Style::Held,
            end_range_deg: 35.0,
            pelvis_roll_deg: 2.0,
            hold_start_s: start_s + 2.0,
            hold_s: 1.5,
            start_s,
            first_end_s: start_s + 2.0,
            left_s: start_s + 3.5,
            knee_flexion_deg: 90.0,
            start_barrier_deg: None,
            marked_s: None,
        }
    }

    fn measured(end_range_at_s: f64) -> Repetition {
        Repetition {
            side: Side::Left,
            phase: Phase::Baseline,
            direction: Direction::Internal,
            end_range_deg: 35.2,
            uncertainty_deg: 0.5,
            start_s: end_range_at_s - 2.0,
            end_range_at_s,
            hold_s: 1.4,
            knee_flexion_deg: None,
            pelvis_roll_deg: None,
            barriers: None,
            flags: Vec::new(),
        }
    }

    #[test]
    fn an_end_range_within_the_movement_or_just_after_the_hold_is_that_one() {
        for at_s in [10.0, 12.5, 14.1] {
            let found = matches(&[measured(at_s)], &[truth(10.0)]);
            assert_eq!((found.matched.len(), found.missed.len()), (1, 0), "{at_s}");
        }
        for at_s in [9.9, 14.2] {
            let found = matches(&[measured(at_s)], &[truth(10.0)]);
            assert_eq!((found.invented.len(), found.missed.len()), (1, 1), "{at_s}");
        }
    }

    #[test]
    fn one_true_repetition_excuses_one_measured_one_only() {
        let found = matches(&[measured(12.5), measured(13.0)], &[truth(10.0), truth(20.0)]);
        assert_eq!((found.matched.len(), found.invented.len()), (1, 1));
        assert_eq!(found.missed, [truth(20.0)]);
    }

    #[test]
    fn another_leg_phase_or_direction_is_another_repetition() {
        let others = [
            TruthRepetition { side: Side::Right, ..truth(10.0) },
            TruthRepetition { phase: Phase::Retest, ..truth(10.0) },
            TruthRepetition { direction: Direction::External, ..truth(10.0) },
        ];
        let found = matches(&[measured(12.5)], &others);
        assert_eq!((found.matched.len(), found.missed.len()), (0, 3));
    }
}
