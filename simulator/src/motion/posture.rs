//! How the person lies or sits: what a test makes of the chain of joints.
//!
//! The person's own frame (x to the head, y to the left, z to the back) is also the frame of the
//! pelvis and of its sensor, whether that is strapped on behind or in front. The postures differ in
//! how this frame stands on the table, in the flexion of the hip and in the axis about which the
//! pelvis goes along when a leg is turned.

use endarc_protocol::words::TestKind;
use nalgebra::Vector3;

use super::chain::{Attitude, Axis};

/// The position of a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Posture {
    /// Face down, hips straight; a bent knee holds the shank up.
    Prone,
    /// Trunk upright, hips at 90°, shanks hanging.
    Seated,
    /// Face up, hips straight, shanks hanging over the table's end.
    SupineHanging,
    /// Face up, the leg that is held with hip and knee at 90°.
    Supine9090,
}

impl Posture {
    /// The posture of a test.
    pub(crate) const fn of(test: TestKind) -> Self {
        match test {
            TestKind::ProneHipRotation
            | TestKind::ProneBothHipsRotation
            | TestKind::ProneKneeBend => Self::Prone,
            TestKind::SeatedHipRotation => Self::Seated,
            TestKind::SupineHangingHipRotation => Self::SupineHanging,
            TestKind::Supine9090HipRotation => Self::Supine9090,
        }
    }

    /// Whether a leg that nobody holds hangs from the knee.
    pub(crate) const fn hangs(self) -> bool {
        matches!(self, Self::Seated | Self::SupineHanging)
    }

    /// Hip flexion while the hip is turned, degrees.
    pub(crate) const fn working_hip_deg(self) -> f64 {
        match self {
            Self::Prone | Self::SupineHanging => 0.0,
            Self::Seated | Self::Supine9090 => 90.0,
        }
    }

    /// Hip flexion of a leg that nobody holds, degrees.
    pub(crate) const fn resting_hip_deg(self) -> f64 {
        match self {
            Self::Prone | Self::SupineHanging | Self::Supine9090 => 0.0,
            Self::Seated => 90.0,
        }
    }

    /// The person's axis along the thigh that is turned: the pelvis goes along about it.
    pub(crate) const fn roll_axis(self) -> Axis {
        match self {
            Self::Prone | Self::SupineHanging => Axis::X,
            Self::Seated | Self::Supine9090 => Axis::Z,
        }
    }

    /// Hip flexion that lowers the knee by a degree, degrees: +1 or −1. With the thigh upright
    /// "lower" is towards the feet.
    pub(crate) const fn lowering_sign(self) -> f64 {
        match self {
            Self::Prone => 1.0,
            Self::Seated | Self::SupineHanging | Self::Supine9090 => -1.0,
        }
    }

    /// Where the pelvis sensor is worn against a point that stays where it is, m, in the person's
    /// axes.
    pub(crate) fn pelvis_lever_m(self) -> Vector3<f64> {
        match self {
            Self::Prone => Vector3::new(0.0, 0.0, 0.12),
            // On the sacrum, above the seat.
            Self::Seated => Vector3::new(0.12, 0.0, 0.08),
            // In front: z points to the back, into the table.
            Self::SupineHanging | Self::Supine9090 => Vector3::new(0.0, 0.0, -0.12),
        }
    }

    /// The person's frame, from the table's (x to the head of one who lies prone, y to the person's
    /// left, z up).
    pub(super) fn person(self, table: Attitude) -> Attitude {
        match self {
            Self::Prone => table,
            // Upright, facing where the head of a prone person would be.
            Self::Seated => table.renamed(|v| Vector3::new(v.z, v.y, -v.x)),
            // Turned over about the left-right axis.
            Self::SupineHanging | Self::Supine9090 => {
                table.renamed(|v| Vector3::new(-v.x, v.y, -v.z))
            }
        }
    }
}
