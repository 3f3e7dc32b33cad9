//! What goes wrong in a real visit: a strap that slips, a leg that leaves the table.

use endarc_protocol::words::Side;

use super::Planner;
use super::limb::Pose;
use crate::motion::posture::Posture;
use crate::motion::strap::SLIP_S;
use crate::scenario::{FootDown, StrapSlip};
use crate::seed::Chance;
use crate::truth::TruthSlip;

/// How much of the hands' unrest a leg has that stands on the floor.
const STANDING_UNREST: f64 = 0.3;

impl Planner<'_> {
    /// The sensor turns on its shank, whatever the leg does.
    pub(super) fn slip(&mut self, step: &StrapSlip, side: Side, chance: &mut Chance) {
        let at_s = self.now_s + chance.between(0.2, 0.4);
        let (along_deg, across_deg, about_deg) = (step.along, step.across, step.about);
        self.limb(side).slip(at_s, (along_deg, across_deg, about_deg));
        self.slips.push(TruthSlip { side, at_s, along_deg, across_deg, about_deg });
        self.now_s = at_s + SLIP_S + chance.between(0.3, 0.6);
    }

    /// The person puts the foot on the floor beside the table, and later back.
    pub(super) fn foot_down(&mut self, step: &FootDown, side: Side, chance: &mut Chance) {
        self.lay_down(&[], chance);
        let (start_s, duration_s) = (self.now_s, chance.between(1.8, 2.6));
        let pose = on_the_floor(self.posture(), chance);
        let limb = self.limb(side);
        limb.steady(STANDING_UNREST, start_s, duration_s);
        limb.place(pose, start_s, duration_s);
        self.now_s += duration_s + step.duration_s;
        let (start_s, duration_s) = (self.now_s, chance.between(2.0, 2.8));
        self.limb(side).lay_down(start_s, duration_s);
        self.now_s += duration_s + chance.between(1.0, 1.5);
    }
}

/// A leg whose foot stands on the floor beside or before the table. The angles are a guess at what
/// people do.
fn on_the_floor(posture: Posture, chance: &mut Chance) -> Pose {
    let (hip_deg, adduction_deg, knee_deg) = match posture {
        Posture::Prone => (55.0, -25.0, 45.0),
        Posture::Seated => (50.0, -5.0, 20.0),
        Posture::SupineHanging => (-10.0, -15.0, 75.0),
        Posture::Supine9090 => (-10.0, -35.0, 65.0),
    };
    Pose {
        hip_deg: hip_deg + chance.between(-5.0, 5.0),
        adduction_deg: adduction_deg + chance.between(-4.0, 4.0),
        rotation_deg: chance.between(-10.0, 10.0),
        knee_deg: knee_deg + chance.between(-8.0, 8.0),
    }
}
