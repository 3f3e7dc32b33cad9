//! Two segments joined by a hinge, a sensor on each: where the joint's axis is in either sensor's
//! frame, and how far the joint is bent.
//!
//! Nothing is known of how the sensors were strapped on; that the joint is a hinge is what is known,
//! and both steps rest on it. The axis ([`axes()`]) is found from any movement of both segments. The
//! angle ([`LiveHinge`], [`smooth()`]) is the difference of the two verticals in the plane across the
//! axis, so that it does not drift, and follows the gyroscopes where an axis is near the vertical and
//! gravity shows little.

mod angle;
mod axes;
mod fit;
#[cfg(test)]
mod tests;

use endarc_protocol::sample::Sample;
use nalgebra::{Unit, Vector3};

pub use angle::{HingeAngle, LiveHinge, smooth};
pub use axes::axes;

use crate::orientation::{self, LiveFilter};

/// Both sensors at one moment, each in its own frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Time of both samples, s.
    pub time_s: f64,
    /// Angular rates, bias taken out, rad/s.
    pub rates: [Vector3<f64>; 2],
    /// Upward verticals (unit).
    pub ups: [Vector3<f64>; 2],
    /// One standard uncertainty of each inclination, rad.
    pub inclination_sds_rad: [f64; 2],
}

/// Where the joint's axis is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HingeAxes {
    /// The same direction in either sensor's frame. Which end of it is meant is not known from
    /// movement: turning both round changes the sign of the angle.
    pub directions: [Unit<Vector3<f64>>; 2],
    /// One standard uncertainty of the less certain one, rad.
    pub uncertainty_rad: f64,
    /// Root mean square of what the turning across the axis differs by, as a share of the turning:
    /// 0 for a perfect hinge.
    pub residual_share: f64,
}

/// Why no axis was found; each says what to do.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum HingeError {
    /// The segments hardly moved.
    #[error(
        "the segments turned by only {turned_deg:.0}° in all: \
         move the joint to and fro, and both segments with it, for some ten seconds"
    )]
    TooLittleTurning {
        /// How far the more moved one turned, degrees, to and fro added up.
        turned_deg: f64,
    },
    /// The segments moved, but the movement leaves the axis open.
    #[error(
        "the movement leaves the axis open by {uncertainty_deg:.0}°: \
         bend the joint while both segments are turned in all directions"
    )]
    Undetermined {
        /// One standard uncertainty, degrees.
        uncertainty_deg: f64,
    },
    /// The two segments do not turn like the two halves of a hinge.
    #[error(
        "this is no hinge (the turning across the axis differs by {residual_percent:.0} %): \
         check the straps, and that the joint turns about one axis"
    )]
    NotAHinge {
        /// See [`HingeAxes::residual_share`], in percent.
        residual_percent: f64,
    },
}

/// The moments of two recordings with the live filter: a moment knows nothing of later samples.
/// Samples are paired by place; what one recording has more is left out, and so are pairs of which a
/// sample was rejected.
#[must_use]
pub fn live_moments(samples: [&[Sample]; 2]) -> Vec<Moment> {
    let mut filters = [LiveFilter::new(), LiveFilter::new()];
    let pairs = samples[0].iter().zip(samples[1]);
    pairs
        .filter_map(|(first, second)| {
            let [a, b] = &mut filters;
            let orientations = [a.push(first), b.push(second)];
            let biases = [*a.bias().rate(), *b.bias().rate()];
            moment([first, second], &orientations, &biases)
        })
        .collect()
}

/// The moments of two recordings with the smoother, paired as in [`live_moments`].
#[must_use]
pub fn smooth_moments(samples: [&[Sample]; 2]) -> Vec<Moment> {
    let biases = samples.map(|samples| {
        let mut filter = LiveFilter::new();
        for sample in samples {
            let _only_the_bias_is_wanted = filter.push(sample);
        }
        *filter.bias().rate()
    });
    let [first, second] = samples.map(orientation::smooth);
    let pairs = samples[0].iter().zip(samples[1]);
    pairs
        .zip(first.into_iter().zip(second))
        .filter_map(|((a, b), (of_a, of_b))| moment([a, b], &[of_a, of_b], &biases))
        .collect()
}

fn moment(
    samples: [&Sample; 2],
    orientations: &[orientation::Orientation; 2],
    biases: &[Vector3<f64>; 2],
) -> Option<Moment> {
    let rate = |side: usize| Vector3::from(samples[side].gyro_rad_s) - biases[side];
    orientations.iter().all(|orientation| orientation.accepted).then(|| Moment {
        time_s: samples[0].time_s,
        rates: [rate(0), rate(1)],
        ups: orientations.map(|orientation| orientation.up()),
        inclination_sds_rad: orientations.map(|orientation| orientation.inclination_sd_rad),
    })
}
