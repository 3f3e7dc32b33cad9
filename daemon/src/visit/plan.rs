//! What comes next, where the therapist's pedal says "next": each leg is prepared, then both are
//! measured, treated and measured again.

use endarc_protocol::words::{Side, TrialType};

/// One step: what the span is, and the leg it concerns (`None` for both).
pub(super) type Step = (TrialType, Option<Side>);

/// The order of the steps, and how far it has come.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    steps: Vec<Step>,
    next: usize,
}

impl Plan {
    /// The plan for these legs, prepared in this order.
    pub(super) fn new(sides: &[Side]) -> Self {
        let prepare = sides.iter().flat_map(|&side| {
            [(TrialType::Neutral, Some(side)), (TrialType::AlignKnee, Some(side))]
        });
        let measure = [TrialType::Baseline, TrialType::Treatment, TrialType::Retest];
        Self {
            steps: prepare.chain(measure.map(|trial_type| (trial_type, None))).collect(),
            next: 0,
        }
    }

    /// The step that comes now, if one is left.
    pub(super) fn advance(&mut self) -> Option<Step> {
        let step = self.steps.get(self.next).copied();
        self.next = self.next.saturating_add(1).min(self.steps.len());
        step
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_leg_is_prepared_measured_treated_and_measured_again() {
        let mut plan = Plan::new(&[Side::Left]);
        let steps: Vec<Step> = std::iter::from_fn(|| plan.advance()).collect();
        assert_eq!(
            steps,
            [
                (TrialType::Neutral, Some(Side::Left)),
                (TrialType::AlignKnee, Some(Side::Left)),
                (TrialType::Baseline, None),
                (TrialType::Treatment, None),
                (TrialType::Retest, None),
            ]
        );
        assert_eq!(plan.advance(), None);
    }
}
