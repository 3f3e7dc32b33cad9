//! One leg while its course is being planned.

use crate::motion::{Course, track::Track};
use crate::seed::Chance;

/// A leg's course so far, and how it lies when nobody holds it.
#[derive(Debug)]
pub(super) struct Limb {
    course: Course,
    flat_knee_deg: f64,
    flat_rotation_deg: f64,
}

impl Limb {
    /// A leg that lies flat: the knee not quite straight, the foot fallen a little to one side.
    pub(super) fn lying(chance: &mut Chance) -> Self {
        let flat_knee_deg = chance.between(2.0, 6.0);
        let flat_rotation_deg = chance.between(-6.0, 6.0);
        Self {
            course: Course {
                rotation: Track::standing(flat_rotation_deg),
                knee: Track::standing(flat_knee_deg),
                roll: Track::standing(0.0),
                held: Track::standing(0.0),
            },
            flat_knee_deg,
            flat_rotation_deg,
        }
    }

    /// A hand takes the leg.
    pub(super) fn hold(&mut self, start_s: f64, duration_s: f64) {
        self.course.held.move_to(1.0, start_s, duration_s);
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

    /// Lays the leg down and lets go of it.
    pub(super) fn lay_down(&mut self, start_s: f64, duration_s: f64) {
        self.bend(self.flat_knee_deg, start_s, duration_s);
        self.turn(self.flat_rotation_deg, 0.0, start_s, duration_s);
        self.course.held.move_to(0.0, start_s, duration_s);
    }

    /// Where the hip stands now, degrees.
    pub(super) fn rotation_deg(&self) -> f64 {
        self.course.rotation.end()
    }

    pub(super) fn into_course(self) -> Course {
        self.course
    }
}
