//! One measurement by itself: the mean end range of a phase, with its error.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::conditions::Conditions;
use super::ends::Ends;
use super::error::ChangeError;
use super::unseen::Unseen;
use crate::result::Repetition;

/// The mean end range of one leg in one phase and direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseMean {
    /// The leg.
    pub side: Side,
    /// The phase.
    pub phase: Phase,
    /// The direction; `None` for total rotation.
    pub direction: Option<Direction>,
    /// Repetitions it rests on; of the total the fewer of the two directions.
    pub count: usize,
    /// Their mean, degrees.
    pub mean_deg: f64,
    /// Half the width of its 95 % interval, degrees: half of a change's variance from what repetitions
    /// cannot show, their scatter and the instrument; `None` for a single repetition.
    pub half95_deg: Option<f64>,
}

/// The mean end range of each direction of a test and of the total, as far as they were measured.
#[must_use]
pub fn phase_means(
    side: Side,
    test: TestKind,
    phase: Phase,
    repetitions: &[Repetition],
) -> Vec<PhaseMean> {
    let of = |&direction: &Direction| Ends::of(side, direction, phase, repetitions);
    let mut ends: Vec<(Option<Direction>, Ends)> =
        test.directions().iter().map(|one| (Some(*one), of(one))).collect();
    if let [(_, internal), (_, external)] = ends.as_slice() {
        let total = internal.plus(external);
        ends.push((None, total));
    }
    ends.iter()
        .filter_map(|(direction, ends)| {
            let unseen = Unseen::of(&Conditions::default(), ends.strap_moved);
            let unseen = if ends.is_sum { unseen.twice() } else { unseen };
            Some(PhaseMean {
                side,
                phase,
                direction: *direction,
                count: ends.count,
                mean_deg: ends.mean_deg?,
                half95_deg: ChangeError::of_one(ends, &unseen).and_then(|e| e.half_width(0.95)),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn repetition(direction: Direction, end_range_deg: f64) -> Repetition {
        Repetition {
            side: Side::Left,
            phase: Phase::Baseline,
            direction,
            end_range_deg,
            uncertainty_deg: 1e-6,
            start_s: 0.0,
            end_range_at_s: 1.0,
            hold_s: 1.0,
            knee_flexion_deg: None,
            pelvis_roll_deg: None,
            barriers: None,
            flags: Vec::new(),
        }
    }

    /// Without scatter what is left is half of the variance that the floor of 6° stands for:
    /// (6/1.96)² − 2·2²/3, so ±1.96·√(half of it).
    #[test]
    fn repetitions_that_do_not_scatter_leave_what_they_cannot_show() {
        let all: Vec<_> = [30.0, 30.0, 30.0].map(|deg| repetition(Direction::Internal, deg)).into();
        let means = phase_means(Side::Left, TestKind::ProneHipRotation, Phase::Baseline, &all);
        assert_eq!(means.len(), 1, "no external, so no total: {means:?}");
        let variance: f64 = (6.0_f64 / 1.96).powi(2) - 8.0 / 3.0;
        let half = means[0].half95_deg.unwrap();
        assert!((half - 1.96 * (variance / 2.0).sqrt()).abs() < 2e-3, "{half}");
        assert_eq!((means[0].count, means[0].mean_deg), (3, 30.0));
    }

    #[test]
    fn the_total_adds_both_ways_and_one_repetition_has_no_interval() {
        let all = [repetition(Direction::Internal, 30.0), repetition(Direction::External, 41.0)];
        let means = phase_means(Side::Left, TestKind::ProneHipRotation, Phase::Baseline, &all);
        assert_eq!((means[2].direction, means[2].mean_deg), (None, 71.0));
        assert!(means.iter().all(|mean| mean.half95_deg.is_none()));
    }
}
