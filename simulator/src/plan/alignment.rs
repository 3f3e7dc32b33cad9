//! The knee bent and straightened, so that its axis can be found.

use endarc_protocol::words::{Direction, Side, TrialType};

use super::Planner;
use crate::motion::posture::Posture;
use crate::scenario::{AlignKnee, Begins};
use crate::seed::Chance;

/// How far "straight" falls short of it when the knee is moved for alignment, degrees.
const STRAIGHTENED_DEG: (f64, f64) = (10.0, 20.0);
/// How far a hanging shank is bent beyond where it hangs: the table's edge is in the way, degrees.
const BENT_UNDER_DEG: (f64, f64) = (15.0, 20.0);

impl Planner<'_> {
    /// So many bends, beginning either way.
    pub(super) fn align_knee(&mut self, step: &AlignKnee, side: Side, chance: &mut Chance) {
        let (posture, bending) = (self.posture(), step.begins == Begins::Bending);
        if bending && posture == Posture::Prone {
            self.lay_down(&[], chance);
        } else {
            self.ensure_raised(&[side], chance);
        }
        if bending && posture == Posture::Supine9090 {
            self.straighten(side, chance);
        }
        let onset_s = self.now_s;
        if bending && posture.hangs() {
            let under_deg = chance.between(BENT_UNDER_DEG.0, BENT_UNDER_DEG.1);
            self.swing_knee(side, self.scenario.body.knee_flexion_deg + under_deg, chance);
        }
        for time in 0..step.times {
            if !bending || posture.hangs() || time > 0 {
                self.straighten(side, chance);
            }
            let knee_deg = self.scenario.body.knee_flexion_deg + chance.between(-3.0, 3.0);
            self.swing_knee(side, knee_deg, chance);
        }
        self.raised = vec![side];
        self.mark(TrialType::AlignKnee, Some(side), onset_s);
        self.now_s += chance.between(0.5, 1.0);
    }

    fn straighten(&mut self, side: Side, chance: &mut Chance) {
        let knee_deg = chance.between(STRAIGHTENED_DEG.0, STRAIGHTENED_DEG.1);
        self.swing_knee(side, knee_deg, chance);
    }

    /// One bend or one straightening and the pause after it. The hip is not quite still.
    fn swing_knee(&mut self, side: Side, knee_deg: f64, chance: &mut Chance) {
        let (start_s, duration_s) = (self.now_s, chance.between(1.2, 1.7));
        let rotation_deg =
            self.middle_deg(side) + self.about_neutral_deg(Direction::Internal, chance);
        let limb = self.limb(side);
        limb.hold(start_s, duration_s / 2.0);
        limb.bend(knee_deg, start_s, duration_s);
        limb.turn(rotation_deg, 0.0, start_s, duration_s);
        self.now_s += duration_s + chance.between(0.3, 0.6);
    }
}
