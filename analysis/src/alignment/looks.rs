//! Two ways of looking at knee bends, and how far they differ.

use nalgebra::{Matrix3, Vector3};

use super::BendSample;
use crate::hip::Posture;

/// The two ways of looking at knee bends, each with its weight.
#[derive(Clone, Copy)]
pub(super) struct Looks<'a> {
    bends: &'a [BendSample],
    mean_up: Vector3<f64>,
    thigh_weight: f64,
    circle_weight: f64,
}

impl<'a> Looks<'a> {
    pub(super) fn at(bends: &'a [BendSample], posture: Posture) -> Self {
        let mean_up =
            bends.iter().map(|bend| bend.up).sum::<Vector3<f64>>() / bends.len().max(1) as f64;
        let thigh_weight = match posture {
            Posture::Prone | Posture::Hanging => THIGH_RATE.powi(-2),
            // An upright thigh that turns about itself is the hip turning: its heading says nothing,
            // but the hip does not tilt the vertical out of its circle either.
            Posture::Supine9090 => 0.0,
        };
        Self { bends, mean_up, thigh_weight, circle_weight: HIP_TURN.powi(-2) }
    }

    /// The thigh's heading alone.
    pub(super) const fn by_thigh(self) -> Self {
        Self { circle_weight: 0.0, ..self }
    }

    /// The vertical's circle alone.
    pub(super) const fn by_circle(self) -> Self {
        Self { thigh_weight: 0.0, ..self }
    }

    /// The axis (unit) that fits best, by Gauss–Newton from `start`.
    pub(super) fn axis(&self, start: &Vector3<f64>) -> Vector3<f64> {
        let mut axis = *start;
        for _ in 0..GAUSS_NEWTON_STEPS {
            let mut normal = Matrix3::identity() * TINY + axis * axis.transpose();
            let mut right = Vector3::zeros();
            for bend in self.bends {
                for (slope, residual, weight) in self.rows(bend, &axis) {
                    normal += slope * slope.transpose() * weight;
                    right -= slope * (residual * weight);
                }
            }
            let Some(step) = normal.try_inverse().map(|inverse| inverse * right) else { break };
            axis = (axis + step).normalize();
        }
        axis
    }

    /// How far (rad) the circle's own axis is from another one, as far as the circle can tell: along an
    /// arc the vertical shows the tilt that lifts one end of it well, and the one about its chord badly.
    pub(super) fn off_circle(&self, axis: &Vector3<f64>, circled: &Vector3<f64>) -> f64 {
        let apart = circled * circled.dot(axis).signum() - axis;
        let mut seen = Matrix3::zeros();
        for bend in self.bends {
            let slope = across(&(bend.up - self.mean_up), axis);
            seen += slope * slope.transpose();
        }
        let best = seen.symmetric_eigenvalues().max();
        if best > 0.0 { (apart.dot(&(seen * apart)) / best).sqrt() } else { 0.0 }
    }

    /// What a sample shows by each look: the slope of its residual, the residual and its weight.
    fn rows(&self, bend: &BendSample, axis: &Vector3<f64>) -> [(Vector3<f64>, f64, f64); 2] {
        let (up, rate) = (&bend.up, &bend.rate);
        // The thigh keeps its heading: what turns about the vertical is flexion about a tilted knee axis,
        // and nothing else. The hip may turn as it likes.
        let heading = rate.dot(up) - axis.dot(up) * axis.dot(rate);
        let heading_slope = -(up * axis.dot(rate) + rate * axis.dot(up));
        // The hip keeps its angle: the vertical runs along a circle about the knee axis.
        let from_mean = up - self.mean_up;
        [
            (across(&heading_slope, axis), heading, self.thigh_weight),
            (across(&from_mean, axis), axis.dot(&from_mean), self.circle_weight),
        ]
    }
}

/// The part of a vector across the axis.
fn across(vector: &Vector3<f64>, axis: &Vector3<f64>) -> Vector3<f64> {
    vector - axis * axis.dot(vector)
}

// How fast the thigh swings sideways on the table while the knee is bent, rad/s, and how far the hip
// turns meanwhile, rad: a foot that is lifted from the flat leg brings the hip along, the thigh
// hardly.
const THIGH_RATE: f64 = 1.5_f64.to_radians();
const HIP_TURN: f64 = 3.0_f64.to_radians();
const TINY: f64 = 1e-9;
const GAUSS_NEWTON_STEPS: usize = 10;
