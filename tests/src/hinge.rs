//! `analysis::hinge` held against an optical reference.
//!
//! The measure is that of the reference folder's `eval_hinge.py`. Reference axis: the line about which
//! the optical relative orientation varies. Reference angle: the twist of that orientation about it.
//! An angle's error: its difference from the reference angle with one constant (the median) taken
//! out, root mean square over the samples where both axes are at least 30° away from the vertical.

use std::path::Path;

use endarc_analysis::hinge::{self, HingeAngle, HingeAxes, HingeError, LiveHinge, Moment};
use nalgebra::{Matrix3, SymmetricEigen, Unit, UnitQuaternion, Vector3};

use crate::two_segments::{Recording, names};

/// How the recording is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// A value depends on no later sample; the axes are found from the whole recording.
    Live,
    /// The whole recording is known.
    Offline,
}

/// What came of one recording.
#[derive(Debug, Clone, Copy)]
pub struct Figures {
    /// Angle between the found and the reference axis in either sensor's frame, degrees.
    pub axis_errors_deg: [f64; 2],
    /// What the axes are stated to be uncertain by, degrees.
    pub axis_uncertainty_deg: f64,
    /// Error of the angle about the reference axes, degrees.
    pub reference_axes_deg: f64,
    /// Error of the angle about the found axes, degrees.
    pub own_axes_deg: f64,
    /// The same over all samples of the movement, whichever way the axes point.
    pub everywhere_deg: f64,
}

/// Axes, angle and errors of one recording of a hinge. `delay_s` is how late the readings are taken to
/// be.
///
/// # Errors
/// When no axis is found.
///
/// # Panics
/// When a sample of the recording is rejected: none is.
pub fn figures(recording: &Recording, way: Way, delay_s: f64) -> Result<Figures, HingeError> {
    let truth = Truth::of(recording);
    let moments = moments(recording, way);
    let mut own = hinge::axes(&moments)?;
    if own.directions[0].dot(&truth.axes[0]) < 0.0 {
        // Which end of the axis is meant is a convention: that of the reference is taken.
        own.directions = own.directions.map(|direction| -direction);
    }
    let error = |side: usize| own.directions[side].angle(&truth.axes[side]).to_degrees();
    let reference = HingeAxes {
        directions: truth.axes.map(Unit::new_normalize),
        uncertainty_rad: 0.0,
        residual_share: 0.0,
    };
    let [of_reference, of_own] = [reference, own].map(|axes| angles(&axes, way, delay_s, &moments));
    Ok(Figures {
        axis_errors_deg: [error(0), error(1)],
        axis_uncertainty_deg: own.uncertainty_rad.to_degrees(),
        reference_axes_deg: truth
            .error_deg(&of_reference, |place| shown(&moments[place], &reference)),
        own_axes_deg: truth.error_deg(&of_own, |place| shown(&moments[place], &own)),
        everywhere_deg: truth.error_deg(&of_own, |_| true),
    })
}

/// Both sensors of a recording at each sample.
///
/// # Panics
/// When a sample is rejected.
#[must_use]
pub fn moments(recording: &Recording, way: Way) -> Vec<Moment> {
    let samples = [0, 1].map(|side| recording.samples[side].as_slice());
    let moments = match way {
        Way::Live => hinge::live_moments(samples),
        Way::Offline => hinge::smooth_moments(samples),
    };
    assert_eq!(moments.len(), recording.counts.len(), "{}: a moment per sample", recording.name);
    moments
}

/// How late the readings of these sensors are against the cameras, s: what best explains the error of
/// the vertical by how fast it turns, the median over the segments of the recordings that are *not*
/// hinges. No figure of a hinge goes into it.
///
/// # Panics
/// When there are none.
#[must_use]
pub fn delay_s(orientation: &Path) -> f64 {
    let mut delays = Vec::new();
    for name in names(orientation, &['2', '3']) {
        let recording = Recording::read(orientation, &name);
        let moments = moments(&recording, Way::Live);
        for side in 0..2 {
            let (mut late, mut turning) = (0.0, 0.0);
            for (place, moment) in moments.iter().enumerate() {
                let Some(attitude) = &recording.references[side][place] else { continue };
                if recording.counts[place] {
                    // Seen from the sensor the vertical turns against the sensor's own turning.
                    let rate = moment.ups[side].cross(&moment.rates[side]);
                    late -= rate.dot(&(moment.ups[side] - attitude.inverse() * Vector3::z()));
                    turning += rate.norm_squared();
                }
            }
            delays.push(late / turning);
        }
    }
    median(delays)
}

fn angles(axes: &HingeAxes, way: Way, delay_s: f64, moments: &[Moment]) -> Vec<HingeAngle> {
    match way {
        Way::Live => {
            let mut live = LiveHinge::new(*axes, delay_s);
            moments.iter().map(|moment| live.push(moment)).collect()
        }
        Way::Offline => hinge::smooth(axes, delay_s, moments),
    }
}

/// Whether both axes are far enough from the vertical for gravity to show the angle.
fn shown(moment: &Moment, axes: &HingeAxes) -> bool {
    (0..2).all(|side| moment.ups[side].dot(&axes.directions[side]).abs().acos() >= LEAST_TILT_RAD)
}

/// The joint as the cameras saw it.
struct Truth {
    axes: [Vector3<f64>; 2],
    /// Place of the sample, and the joint's angle there, rad.
    angles: Vec<(usize, f64)>,
}

impl Truth {
    fn of(recording: &Recording) -> Self {
        let relative: Vec<(usize, UnitQuaternion<f64>)> = (0..recording.counts.len())
            .filter(|place| recording.counts[*place])
            .map(|place| {
                let [first, second] = [0, 1].map(|side| recording.references[side][place].unwrap());
                (place, first.inverse() * second)
            })
            .collect();
        let middle = relative[relative.len() / 2].1;
        let since: Vec<_> =
            relative.iter().map(|(place, q)| (*place, q * middle.inverse())).collect();
        let mut spread = Matrix3::zeros();
        for (_, turn) in &since {
            spread += turn.imag() * turn.imag().transpose();
        }
        let eigen = SymmetricEigen::new(spread);
        let first: Vector3<f64> = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
        let twist = |q: &UnitQuaternion<f64>| 2.0 * q.imag().dot(&first).atan2(q.w);
        Self {
            axes: [first, middle.inverse() * first],
            angles: since.iter().map(|(place, turn)| (*place, twist(turn))).collect(),
        }
    }

    fn error_deg(&self, angles: &[HingeAngle], counts: impl Fn(usize) -> bool) -> f64 {
        let counted = self.angles.iter().filter(|(place, _)| counts(*place));
        let mut errors: Vec<f64> =
            counted.map(|(place, truth)| angles[*place].angle_rad - truth).collect();
        let (sine, cosine) = errors
            .iter()
            .fold((0.0, 0.0), |(sine, cosine), error| (sine + error.sin(), cosine + error.cos()));
        let mean = f64::atan2(sine, cosine);
        for error in &mut errors {
            *error = (*error - mean).sin().atan2((*error - mean).cos());
        }
        let constant = median(errors.clone());
        let squares = errors.iter().map(|error| (error - constant).powi(2)).sum::<f64>();
        (squares / errors.len() as f64).sqrt().to_degrees()
    }
}

/// The middle of some numbers; of two middle ones their mean.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    if values.len() % 2 == 1 { values[half] } else { (values[half - 1] + values[half]) / 2.0 }
}

const LEAST_TILT_RAD: f64 = 30.0_f64.to_radians();
