//! Finding the shank's axes in the sensor's frame.
//!
//! Bending the knee turns the shank about the knee's flexion axis, so the gyroscope shows that axis
//! (functional axis, as in Seel, Raisch & Schauer, Sensors 14:6891, 2014). But a hip that turns while
//! the foot is lifted tilts the axis that is seen, so two finer looks are taken from there: the
//! thigh keeps its heading on the table, whatever the hip does; and, less strictly, the hip keeps its
//! angle, so that the vertical as seen from the sensor runs along a circle about the axis. Which end
//! of the axis is left follows from the flat leg: the shank goes further away from vertical towards
//! straight than towards bent.

mod looks;
#[cfg(test)]
mod tests;

use nalgebra::{Matrix3, SymmetricEigen, Unit, Vector3};

use crate::hip::{Posture, ShankAxes};
use crate::result::AlignmentKind;
use looks::Looks;

/// The sensor at one sample of the knee bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendSample {
    /// Angular rate with the bias taken out, rad/s.
    pub rate: Vector3<f64>,
    /// Upward vertical (unit).
    pub up: Vector3<f64>,
}

/// The shank's axes and how far to trust them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alignment {
    /// How it was found.
    pub kind: AlignmentKind,
    /// The axes.
    pub axes: ShankAxes,
    /// How far the bends were from turning about one axis, rad: the angle between the axis that the
    /// thigh's heading shows and the one the vertical circles about, as far as the circle can tell.
    pub residual_rad: f64,
    /// One standard uncertainty of the knee axis, rad.
    pub uncertainty_rad: f64,
}

/// Why an alignment was refused; each says what to do.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AlignmentError {
    /// The knee was not bent far enough.
    #[error(
        "the knee bends turn the shank by only {swept_deg:.0}°: \
         bend and straighten the knee by at least 40°, a few times"
    )]
    TooSmall {
        /// How far the shank turned, degrees.
        swept_deg: f64,
    },
    /// It cannot be told which way is straight.
    #[error(
        "it cannot be told which way is straight (the shank goes {one_deg:.0}° one way and \
         {other_deg:.0}° the other): lay the leg flat once during the knee bends"
    )]
    AmbiguousSign {
        /// Largest excursion one way, degrees.
        one_deg: f64,
        /// Largest excursion the other way, degrees.
        other_deg: f64,
    },
    /// The movement was not about one axis.
    #[error(
        "the knee bends are not about one axis ({residual_deg:.0}° apart): \
         bend the knee alone, without turning the hip, and check the strap"
    )]
    NotOneAxis {
        /// Angle between the two estimates of the axis, degrees.
        residual_deg: f64,
    },
}

/// Alignment from the vertical at neutral (unit, sensor frame) and knee bends in a posture.
///
/// # Errors
/// See [`AlignmentError`].
pub fn from_knee_bends(
    neutral_up: &Vector3<f64>,
    bends: &[BendSample],
    posture: Posture,
) -> Result<Alignment, AlignmentError> {
    let turned = functional_axis(bends);
    let both = Looks::at(bends, posture);
    let circled = both.by_circle().axis(&turned);
    let thigh = match posture {
        Posture::Prone | Posture::Hanging => both.by_thigh().axis(&turned),
        Posture::Supine9090 => turned,
    };
    let axis = both.axis(&turned);
    let knee = towards_left(neutral_up, &axis, bends)?;
    let apart = both.off_circle(&thigh, &circled);
    if apart.max(turned.angle(&axis)) > LARGEST_RESIDUAL {
        return Err(AlignmentError::NotOneAxis { residual_deg: apart.to_degrees() });
    }
    Ok(Alignment {
        kind: AlignmentKind::KneeBends,
        axes: ShankAxes::new(knee, neutral_up),
        residual_rad: apart,
        uncertainty_rad: LEAST_UNCERTAINTY.hypot(RESIDUAL_SHARE * apart),
    })
}

/// The knee's axis (unit, sensor frame) that one lift of the foot shows, found from `start`, which it is
/// near to; `None` if the lift turns the shank too little, or not about one axis.
#[must_use]
pub fn from_lift(
    bends: &[BendSample],
    start: &Vector3<f64>,
    posture: Posture,
) -> Option<Unit<Vector3<f64>>> {
    let (first, last) = (bends.first()?, bends.last()?);
    if first.up.angle(&last.up) < LEAST_SWEEP {
        return None;
    }
    let both = Looks::at(bends, posture);
    let axis = both.axis(start);
    let circled = both.by_circle().axis(start);
    (axis.angle(&circled) < LARGEST_RESIDUAL).then(|| Unit::new_normalize(axis))
}

/// The axis about which the gyroscope turns most, either way round (unit).
fn functional_axis(bends: &[BendSample]) -> Vector3<f64> {
    let mut turning = Matrix3::zeros();
    for bend in bends {
        turning -= bend.rate * bend.rate.transpose();
    }
    least_axis(&turning)
}

/// Quick alignment, without knee bends: the shank is taken as vertical at neutral, and the sensor's y
/// axis as pointing roughly to the person's left. What that may be wrong by is in the uncertainty.
///
/// `rotations` are angular rates (rad/s, bias taken out) of hip rotations, as far as there are any: they
/// turn the shank about the thigh, which the knee axis is at right angles to, and so show how far the
/// sensor is turned on the strap.
#[must_use]
pub fn quick(
    neutral_up: &Vector3<f64>,
    rotations: impl IntoIterator<Item = Vector3<f64>>,
) -> Alignment {
    let nominal = Vector3::y() - neutral_up * neutral_up.y;
    let mut turning = Matrix3::zeros();
    for rate in rotations {
        turning -= rate * rate.transpose();
    }
    let functional = least_axis(&turning).cross(neutral_up);
    let functional = functional * functional.dot(&nominal).signum();
    let believed = turning.trace() < -LEAST_TURNING
        && functional.normalize().dot(&nominal.normalize()) > QUICK_AGREEMENT;
    let across = if believed { functional } else { nominal };
    let knee = Unit::try_new(across, 1e-6).unwrap_or_else(Vector3::y_axis);
    Alignment {
        kind: AlignmentKind::Quick,
        axes: ShankAxes::new(knee, neutral_up),
        residual_rad: 0.0,
        uncertainty_rad: if believed { QUICK_UNCERTAINTY } else { NOMINAL_UNCERTAINTY },
    }
}

/// Turns the axis so that it points to the person's left.
fn towards_left(
    neutral_up: &Vector3<f64>,
    axis: &Vector3<f64>,
    bends: &[BendSample],
) -> Result<Unit<Vector3<f64>>, AlignmentError> {
    // Angle of each vertical about the axis, from neutral. Flexion is a positive turn of the shank
    // about the axis to the left, so the vertical seen from the shank turns the other way, and
    // straightening counts positive if `axis` is that axis.
    let from = neutral_up - axis * neutral_up.dot(axis);
    let (mut most, mut least) = (0.0_f64, 0.0_f64);
    for bend in bends {
        let angle = axis.dot(&from.cross(&bend.up)).atan2(from.dot(&bend.up));
        most = most.max(angle);
        least = least.min(angle);
    }
    if most - least < LEAST_SWEEP {
        return Err(AlignmentError::TooSmall { swept_deg: (most - least).to_degrees() });
    }
    // Towards bent the calf stops it some 50° past 90° (common practice); towards straight it can go
    // on to 90°. So the further side is straight if it goes further than a bend could, and clearly
    // further than the other.
    let (further, nearer) = if most > -least { (most, -least) } else { (-least, most) };
    if further < BEYOND_BENT || further - nearer < CLEARLY_FURTHER {
        return Err(AlignmentError::AmbiguousSign {
            one_deg: most.to_degrees(),
            other_deg: (-least).to_degrees(),
        });
    }
    let left = if most > -least { *axis } else { -axis };
    Ok(Unit::new_normalize(left))
}

/// The direction in which the symmetric matrix is least.
fn least_axis(matrix: &Matrix3<f64>) -> Vector3<f64> {
    let eigen = SymmetricEigen::new(*matrix);
    eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned()
}

// What the two looks differ by says how far the axis between them may be wrong. On the bends of 1500
// simulated visits the variance of the error was 0.028 of the square of that difference and (0.1°)².
const RESIDUAL_SHARE: f64 = 0.17;
const LEAST_UNCERTAINTY: f64 = 0.1_f64.to_radians();
const LEAST_SWEEP: f64 = 40.0_f64.to_radians();
const BEYOND_BENT: f64 = 57.0_f64.to_radians();
const CLEARLY_FURTHER: f64 = 15.0_f64.to_radians();
const LARGEST_RESIDUAL: f64 = 12.0_f64.to_radians();
// The shank held vertical by eye; and strapped on straight by eye as well.
const QUICK_UNCERTAINTY: f64 = 3.0_f64.to_radians();
const NOMINAL_UNCERTAINTY: f64 = 8.0_f64.to_radians();
// Sum of squared rates from which an axis can be told: some 10 s at 10 °/s and 100 Hz, (rad/s)².
const LEAST_TURNING: f64 = 30.0;
// A sensor is not strapped on more than 60° askew.
const QUICK_AGREEMENT: f64 = 0.5;
