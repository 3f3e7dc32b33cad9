//! Legs taken up and let down, and how neutral is found.

use endarc_protocol::words::{Direction, Side};

use super::Planner;
use crate::motion::posture::Posture;
use crate::seed::Chance;

impl Planner<'_> {
    /// Takes up these legs, after letting down any other.
    pub(super) fn ensure_raised(&mut self, sides: &[Side], chance: &mut Chance) {
        self.lay_down(sides, chance);
        if sides.iter().all(|side| self.raised.contains(side)) {
            return;
        }
        let (start_s, duration_s) = (self.now_s, chance.between(1.6, 2.2));
        for side in sides {
            if self.raised.contains(side) {
                continue;
            }
            let knee_deg = self.scenario.body.knee_flexion_deg + chance.between(-3.0, 3.0);
            let rotation_deg =
                self.middle_deg(*side) + self.about_neutral_deg(Direction::Internal, chance);
            let limb = self.limb(*side);
            limb.hold(start_s, duration_s / 2.0);
            limb.raise(start_s, duration_s);
            limb.bend(knee_deg, start_s, duration_s);
            limb.turn(rotation_deg, 0.0, start_s, duration_s);
            self.raised.push(*side);
        }
        self.now_s += duration_s + chance.between(0.8, 1.2);
    }

    /// Lets down the legs that are up, except these.
    pub(super) fn lay_down(&mut self, except: &[Side], chance: &mut Chance) {
        let (kept, lowered) = self.raised.iter().partition(|side| except.contains(side));
        self.raised = kept;
        let lowered: Vec<Side> = lowered;
        if lowered.is_empty() {
            return;
        }
        let (start_s, duration_s) = (self.now_s, chance.between(1.7, 2.3));
        for side in lowered {
            self.limb(side).lay_down(start_s, duration_s);
        }
        self.now_s += duration_s + chance.between(1.0, 1.5);
    }

    /// Where a leg is when it is brought back to neutral, degrees: for flexion the upright shank.
    /// Where only the eye finds it, how exactly is a matter of the hands.
    pub(super) fn about_neutral_deg(&self, direction: Direction, chance: &mut Chance) -> f64 {
        let body = &self.scenario.body;
        match (direction, self.posture()) {
            (Direction::Flexion, _) => body.knee_flexion_deg + chance.between(-1.5, 1.5),
            (_, Posture::Supine9090) => chance.within_two_sd(body.neutral_sd_deg),
            _ => chance.between(-1.5, 1.5),
        }
    }

    /// How long it stays there: where neutral is the zero of what follows, until it is still.
    pub(super) fn pause_at_neutral_s(&self, chance: &mut Chance) -> f64 {
        match self.posture() {
            Posture::Supine9090 => chance.between(1.0, 2.0),
            _ => chance.between(0.7, 1.6),
        }
    }
}
