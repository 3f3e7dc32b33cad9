//! One leg while its course is being planned.

use crate::motion::posture::Posture;
use crate::motion::strap::Strap;
use crate::motion::tilt::Onsets;
use crate::motion::{Course, track::Track};
use crate::seed::Chance;

/// Where a leg's joints stand, degrees.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pose {
    pub(super) hip_deg: f64,
    pub(super) adduction_deg: f64,
    pub(super) rotation_deg: f64,
    pub(super) knee_deg: f64,
}

/// A leg's course so far, and how it rests when nobody holds it.
#[derive(Debug)]
pub(super) struct Limb {
    course: Course,
    rest: Pose,
    working_hip_deg: f64,
}

impl Limb {
    /// A leg that nobody holds.
    pub(super) fn resting(posture: Posture, chance: &mut Chance) -> Self {
        let rest = rest(posture, chance);
        Self {
            course: Course {
                hip: Track::standing(rest.hip_deg),
                adduction: Track::standing(rest.adduction_deg),
                rotation: Track::standing(rest.rotation_deg),
                knee: Track::standing(rest.knee_deg),
                roll: Track::standing(0.0),
                held: Track::standing(0.0),
                onsets: Onsets::default(),
                strap: Strap::default(),
            },
            rest,
            working_hip_deg: posture.working_hip_deg(),
        }
    }

    /// A hand takes the leg.
    pub(super) fn hold(&mut self, start_s: f64, duration_s: f64) {
        self.steady(1.0, start_s, duration_s);
    }

    /// A leg takes on this much of the unrest of one that a hand holds.
    pub(super) fn steady(&mut self, unrest: f64, start_s: f64, duration_s: f64) {
        self.course.held.move_to(unrest, start_s, duration_s);
    }

    /// Brings the thigh to where the hip is turned.
    pub(super) fn raise(&mut self, start_s: f64, duration_s: f64) {
        self.course.hip.move_to(self.working_hip_deg, start_s, duration_s);
    }

    /// Bends or straightens the knee.
    pub(super) fn bend(&mut self, knee_deg: f64, start_s: f64, duration_s: f64) {
        self.course.knee.move_to(knee_deg, start_s, duration_s);
    }

    /// Turns the hip, the pelvis rolling with it.
    pub(super) fn turn(&mut self, rotation_deg: f64, roll_deg: f64, start_s: f64, duration_s: f64) {
        self.course.rotation.move_to(rotation_deg, start_s, duration_s);
        self.course.roll.move_to(roll_deg, start_s, duration_s);
    }

    /// Brings every joint somewhere, the pelvis level.
    pub(super) fn place(&mut self, pose: Pose, start_s: f64, duration_s: f64) {
        self.bend(pose.knee_deg, start_s, duration_s);
        self.turn(pose.rotation_deg, 0.0, start_s, duration_s);
        self.course.hip.move_to(pose.hip_deg, start_s, duration_s);
        self.course.adduction.move_to(pose.adduction_deg, start_s, duration_s);
    }

    /// Lays the leg down, or lets it hang, and lets go of it.
    pub(super) fn lay_down(&mut self, start_s: f64, duration_s: f64) {
        self.place(self.rest, start_s, duration_s);
        self.steady(0.0, start_s, duration_s);
    }

    /// From a time on the pelvis tilts beyond this knee flexion.
    pub(super) fn tilt_from(&mut self, from_s: f64, flexion_deg: f64) {
        self.course.onsets.set(from_s, flexion_deg);
    }

    /// The sensor turns on the shank about its long, forward and flexion axis, degrees.
    pub(super) fn slip(&mut self, start_s: f64, (along, across, about): (f64, f64, f64)) {
        self.course.strap.slip(start_s, along, across, about);
    }

    /// Where the hip stands now, degrees.
    pub(super) fn rotation_deg(&self) -> f64 {
        self.course.rotation.end()
    }

    /// How the leg rests.
    pub(super) const fn rest(&self) -> Pose {
        self.rest
    }

    pub(super) fn into_course(self) -> Course {
        self.course
    }
}

/// How a leg rests: flat, the knee not quite straight and the foot fallen a little to one side
/// (outward, lying on the back); or hanging about vertically.
fn rest(posture: Posture, chance: &mut Chance) -> Pose {
    let (knee_deg, rotation_deg) = match posture {
        Posture::Prone => (chance.between(2.0, 6.0), chance.between(-6.0, 6.0)),
        Posture::Supine9090 => (chance.between(2.0, 6.0), chance.between(-15.0, -5.0)),
        Posture::Seated | Posture::SupineHanging => {
            (chance.between(88.0, 94.0), chance.between(-4.0, 4.0))
        }
    };
    Pose { hip_deg: posture.resting_hip_deg(), adduction_deg: 0.0, rotation_deg, knee_deg }
}
