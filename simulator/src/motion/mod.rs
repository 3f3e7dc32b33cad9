//! How the body moves, and what ideal sensors on it would feel.

pub(crate) mod body;
pub(crate) mod chain;
pub(crate) mod jet;
pub(crate) mod posture;
pub(crate) mod strap;
pub(crate) mod sway;
pub(crate) mod tilt;
pub(crate) mod track;

use endarc_protocol::words::{SensorRole, Side};
use nalgebra::Vector3;

use crate::scenario::Body;
use crate::seed::Chance;
use body::{Joints, pelvis, shank, turn_sign};
use chain::{Attitude, Felt};
use jet::Jet;
use posture::Posture;
use strap::Strap;
use sway::Sway;
use tilt::Onsets;
use track::Track;

/// The hands' tremor shows at the knee too, but less: the shank is long and held near its end.
const KNEE_SHARE_OF_TREMOR: f64 = 0.5;
/// How far knee flexion and hip adduction wander while a leg is held, degrees.
const WANDER_DEG: (f64, f64) = (0.4, 0.8);
/// How fast they wander.
const WANDER_HZ: f64 = 0.13;
/// Breaths of a resting adult: 15 a minute (common practice).
const BREATHING_HZ: f64 = 0.25;

/// The planned course of one leg, degrees.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    /// Hip flexion.
    pub(crate) hip: Track,
    /// Hip adduction.
    pub(crate) adduction: Track,
    /// Hip rotation, internal positive.
    pub(crate) rotation: Track,
    /// Knee flexion.
    pub(crate) knee: Track,
    /// Pelvis roll that this leg's movement causes, positive with internal rotation.
    pub(crate) roll: Track,
    /// 1 while a hand holds the leg, 0 while it lies on the table.
    pub(crate) held: Track,
    /// Where bending the knee begins to tilt the pelvis.
    pub(crate) onsets: Onsets,
    /// What holds the sensor.
    pub(crate) strap: Strap,
}

/// One leg: its course and what never stops.
#[derive(Debug, Clone)]
struct Leg {
    course: Course,
    tremor: Sway,
    knee_tremor: Sway,
    knee_wander: Sway,
    adduction_wander: Sway,
}

impl Leg {
    fn new(course: Course, body: &Body, side: Side, seed: u64) -> Self {
        let mut chance = Chance::new(seed, &format!("sway/{side}"));
        let (knee_deg, adduction_deg) = WANDER_DEG;
        let (tremor_deg, tremor_hz) = (body.tremor_deg, body.tremor_hz);
        Self {
            course,
            tremor: Sway::new(tremor_deg, tremor_hz, &mut chance),
            knee_tremor: Sway::new(tremor_deg * KNEE_SHARE_OF_TREMOR, tremor_hz, &mut chance),
            knee_wander: Sway::new(knee_deg, WANDER_HZ, &mut chance),
            adduction_wander: Sway::new(adduction_deg, WANDER_HZ, &mut chance),
        }
    }

    fn joints(&self, posture: Posture, body: &Body, time_s: f64) -> Joints {
        let held = self.course.held.at(time_s);
        let sway = |sways: &[&Sway]| {
            if held == Jet::default() {
                return Jet::default();
            }
            let sum = sways.iter().fold(Jet::default(), |sum, one| sum + one.at(time_s));
            sum * held
        };
        Joints {
            table_tilt_deg: Jet::still(body.table_tilt_deg),
            pelvis_roll_deg: self.course.roll.at(time_s),
            hip_flexion_deg: self.course.hip.at(time_s)
                + Jet::still(posture.lowering_sign() * body.thigh_pitch_deg),
            hip_adduction_deg: self.course.adduction.at(time_s) + sway(&[&self.adduction_wander]),
            hip_rotation_deg: self.course.rotation.at(time_s) + sway(&[&self.tremor]),
            knee_flexion_deg: self.course.knee.at(time_s)
                + sway(&[&self.knee_tremor, &self.knee_wander]),
        }
    }
}

/// The whole body in motion.
#[derive(Debug, Clone)]
pub(crate) struct Motion {
    posture: Posture,
    body: Body,
    left: Leg,
    right: Leg,
    breathing: Sway,
}

impl Motion {
    /// A body that follows the courses of its legs.
    pub(crate) fn new(
        posture: Posture,
        left: Course,
        right: Course,
        body: &Body,
        seed: u64,
    ) -> Self {
        let mut chance = Chance::new(seed, "sway/breathing");
        Self {
            posture,
            body: body.clone(),
            left: Leg::new(left, body, Side::Left, seed),
            right: Leg::new(right, body, Side::Right, seed),
            breathing: Sway::new(body.breathing_deg, BREATHING_HZ, &mut chance),
        }
    }

    /// What an ideal sensor in its place feels at a time. Its axes lie along the segment's until a
    /// strap slips.
    pub(crate) fn felt(&self, role: SensorRole, time_s: f64) -> Felt {
        let attitude = self.attitude(role, time_s);
        match role.side() {
            Some(side) => {
                let held = attitude.felt_at(Vector3::new(0.0, 0.0, -self.body.lever_arm_m));
                self.leg(side).course.strap.felt(held, time_s)
            }
            None => attitude.felt_at(self.posture.pelvis_lever_m()),
        }
    }

    fn attitude(&self, role: SensorRole, time_s: f64) -> Attitude {
        if let Some(side) = role.side() {
            return shank(self.posture, side, &self.joints(side, time_s));
        }
        let (mut roll_deg, mut tilt_deg) = (Jet::default(), self.breathing.at(time_s));
        for side in Side::ALL {
            let course = &self.leg(*side).course;
            roll_deg = roll_deg + course.roll.at(time_s) * turn_sign(*side);
            if course.onsets.any() {
                let knee_deg = self.joints(*side, time_s).knee_flexion_deg;
                let slope = self.body.pelvis_tilt_per_deg;
                tilt_deg = tilt_deg + course.onsets.tilt_deg(time_s, knee_deg, slope);
            }
        }
        pelvis(self.posture, Jet::still(self.body.table_tilt_deg), roll_deg, tilt_deg)
    }

    fn joints(&self, side: Side, time_s: f64) -> Joints {
        self.leg(side).joints(self.posture, &self.body, time_s)
    }

    /// The knee's flexion at a time without the hands' tremor, degrees.
    pub(crate) fn knee_flexion_deg(&self, side: Side, time_s: f64) -> f64 {
        let leg = self.leg(side);
        let held = leg.course.held.at(time_s).value;
        leg.course.knee.at(time_s).value + leg.knee_wander.at(time_s).value * held
    }

    /// The hip's rotation at a time without the hands' tremor, degrees, internal positive.
    #[cfg(test)]
    pub(crate) fn rotation_deg(&self, side: Side, time_s: f64) -> f64 {
        self.leg(side).course.rotation.at(time_s).value
    }

    /// The upward unit vector in a segment's axes.
    #[cfg(test)]
    pub(crate) fn up(&self, role: SensorRole, time_s: f64) -> Vector3<f64> {
        self.attitude(role, time_s).up()
    }

    const fn leg(&self, side: Side) -> &Leg {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

#[cfg(test)]
mod tests;
