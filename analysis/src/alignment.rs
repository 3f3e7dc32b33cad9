//! Finding the shank's axes in the sensor's frame.
//!
//! Bending the knee turns the shank about the knee's flexion axis, so the gyroscope shows that axis
//! (functional axis, as in Seel, Raisch & Schauer, Sensors 14:6891, 2014), and the vertical as seen
//! from the sensor runs along a circle about the same axis. Both are used: the gyroscope whatever
//! the hip does meanwhile, the circle because it is measured by the sensor that later measures the
//! angle. Which end of the axis is left follows from the flat leg: the shank goes further away from
//! vertical towards straight than towards bent.

use nalgebra::{Matrix3, SymmetricEigen, Unit, Vector3};

use crate::hip::ShankAxes;
use crate::result::AlignmentKind;

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
    /// How far the bends were from turning about one axis, rad: the angle between the axis the
    /// gyroscope shows and the one the vertical circles about.
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

/// Alignment from the vertical at neutral (unit, sensor frame) and knee bends.
///
/// # Errors
/// See [`AlignmentError`].
pub fn from_knee_bends(
    neutral_up: &Vector3<f64>,
    bends: &[BendSample],
) -> Result<Alignment, AlignmentError> {
    let mut turning = Matrix3::zeros();
    let mut mean_up = Vector3::zeros();
    for bend in bends {
        turning +=
            Matrix3::identity() * bend.rate.norm_squared() - bend.rate * bend.rate.transpose();
        mean_up += bend.up;
    }
    let count = bends.len().max(1) as f64;
    mean_up /= count;
    let mut circling = Matrix3::zeros();
    for bend in bends {
        let from_mean = bend.up - mean_up;
        circling += from_mean * from_mean.transpose();
    }
    // The circle's plane may miss the centre by what the hip is turned meanwhile; a little is likely.
    circling += mean_up * mean_up.transpose() * (count * CENTRE_SHARE);

    let both = turning / RATE_NOISE.powi(2) + circling / UP_NOISE.powi(2);
    let axis = least_axis(&both);
    let apart = {
        let angle = least_axis(&turning).angle(&least_axis(&circling));
        angle.min(std::f64::consts::PI - angle)
    };
    let knee = towards_left(neutral_up, &axis, bends)?;
    if apart > LARGEST_RESIDUAL {
        return Err(AlignmentError::NotOneAxis { residual_deg: apart.to_degrees() });
    }
    Ok(Alignment {
        kind: AlignmentKind::KneeBends,
        axes: axes(knee, neutral_up),
        residual_rad: apart,
        uncertainty_rad: (LEAST_UNCERTAINTY.powi(2) + (0.5 * apart).powi(2)).sqrt(),
    })
}

/// Quick alignment: the sensor is taken as strapped on straight (its y axis to the person's left),
/// the shank as vertical at neutral. What that may be wrong by is in the uncertainty.
#[must_use]
pub fn quick(neutral_up: &Vector3<f64>) -> Alignment {
    let across = Vector3::y() - neutral_up * neutral_up.y;
    let knee = Unit::try_new(across, 1e-6).unwrap_or_else(Vector3::y_axis);
    Alignment {
        kind: AlignmentKind::Quick,
        axes: axes(knee, neutral_up),
        residual_rad: 0.0,
        uncertainty_rad: QUICK_UNCERTAINTY,
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
    // on to 90°. So the further side is straight, if it is clearly further or further than that.
    let (further, nearer) = if most > -least { (most, -least) } else { (-least, most) };
    if further < SURELY_STRAIGHT && further - nearer < CLEARLY_FURTHER {
        return Err(AlignmentError::AmbiguousSign {
            one_deg: most.to_degrees(),
            other_deg: (-least).to_degrees(),
        });
    }
    let left = if most > -least { *axis } else { -axis };
    Ok(Unit::new_normalize(left))
}

fn axes(knee: Unit<Vector3<f64>>, neutral_up: &Vector3<f64>) -> ShankAxes {
    let down = -(neutral_up - knee.into_inner() * neutral_up.dot(&knee));
    ShankAxes { knee, long: Unit::try_new(down, 1e-6).unwrap_or_else(Vector3::z_axis) }
}

/// The direction in which the symmetric matrix is least.
fn least_axis(matrix: &Matrix3<f64>) -> Vector3<f64> {
    let eigen = SymmetricEigen::new(*matrix);
    eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned()
}

// A trembling hand: rate off the axis, rad/s, and error of the vertical, rad.
const RATE_NOISE: f64 = 6.0_f64.to_radians();
const UP_NOISE: f64 = 0.4_f64.to_radians();
// (UP_NOISE / 4°)²: the hip is turned by a few degrees at most while the knee is bent.
const CENTRE_SHARE: f64 = 0.01;
const LEAST_SWEEP: f64 = 40.0_f64.to_radians();
const SURELY_STRAIGHT: f64 = 70.0_f64.to_radians();
const CLEARLY_FURTHER: f64 = 25.0_f64.to_radians();
const LARGEST_RESIDUAL: f64 = 12.0_f64.to_radians();
const LEAST_UNCERTAINTY: f64 = 0.1_f64.to_radians();
// Strapped on by eye, the shank held vertical by eye.
const QUICK_UNCERTAINTY: f64 = 4.0_f64.to_radians();
