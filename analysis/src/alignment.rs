//! Finding the shank's axes in the sensor's frame.
//!
//! Bending the knee turns the shank about the knee's flexion axis, so the gyroscope shows that axis
//! (functional axis, as in Seel, Raisch & Schauer, Sensors 14:6891, 2014). But a hip that turns while
//! the foot is lifted tilts the axis that is seen, so two finer looks are taken from there: the
//! thigh keeps its heading on the table, whatever the hip does; and, less strictly, the hip keeps its
//! angle, so that the vertical as seen from the sensor runs along a circle about the axis. Which end
//! of the axis is left follows from the flat leg: the shank goes further away from vertical towards
//! straight than towards bent.

use nalgebra::{Matrix3, SymmetricEigen, Unit, Vector3};

use crate::hip::{Posture, ShankAxes};
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
    /// How far the bends were from turning about one axis, rad: the angle between the axis that the
    /// thigh's heading shows and the one the vertical circles about.
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
    let circled = Looks { thigh_weight: 0.0, ..both }.axis(&turned);
    let thigh = match posture {
        Posture::Prone | Posture::Hanging => Looks { circle_weight: 0.0, ..both }.axis(&turned),
        Posture::Supine9090 => turned,
    };
    let axis = both.axis(&turned);
    let knee = towards_left(neutral_up, &axis, bends)?;
    let apart = thigh.angle(&circled);
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
    let circled = Looks { thigh_weight: 0.0, ..both }.axis(start);
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

/// The two ways of looking at knee bends, each with its weight.
#[derive(Clone, Copy)]
struct Looks<'a> {
    bends: &'a [BendSample],
    mean_up: Vector3<f64>,
    thigh_weight: f64,
    circle_weight: f64,
}

impl<'a> Looks<'a> {
    fn at(bends: &'a [BendSample], posture: Posture) -> Self {
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

    /// The axis (unit) that fits best, by Gauss–Newton from `start`.
    fn axis(&self, start: &Vector3<f64>) -> Vector3<f64> {
        let mut axis = *start;
        for _ in 0..GAUSS_NEWTON_STEPS {
            let mut normal = Matrix3::identity() * TINY + axis * axis.transpose();
            let mut right = Vector3::zeros();
            let mut add = |slope: Vector3<f64>, residual: f64, weight: f64| {
                let slope = slope - axis * axis.dot(&slope);
                normal += slope * slope.transpose() * weight;
                right -= slope * (residual * weight);
            };
            for bend in self.bends {
                let (up, rate) = (&bend.up, &bend.rate);
                // The thigh keeps its heading: what turns about the vertical is flexion about a
                // tilted knee axis, and nothing else. The hip may turn as it likes.
                let heading = rate.dot(up) - axis.dot(up) * axis.dot(rate);
                add(-(up * axis.dot(rate) + rate * axis.dot(up)), heading, self.thigh_weight);
                // The hip keeps its angle: the vertical runs along a circle about the knee axis.
                let from_mean = up - self.mean_up;
                add(from_mean, axis.dot(&from_mean), self.circle_weight);
            }
            let Some(step) = normal.try_inverse().map(|inverse| inverse * right) else { break };
            axis = (axis + step).normalize();
        }
        axis
    }
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

// How fast the thigh swings sideways on the table while the knee is bent, rad/s, and how far the hip
// turns meanwhile, rad: a foot that is lifted from the flat leg brings the hip along, the thigh
// hardly.
const THIGH_RATE: f64 = 1.5_f64.to_radians();
const HIP_TURN: f64 = 3.0_f64.to_radians();
const TINY: f64 = 1e-9;
const GAUSS_NEWTON_STEPS: usize = 10;
// What the two looks differ by says how far either may be wrong.
const RESIDUAL_SHARE: f64 = 0.12;
const LEAST_SWEEP: f64 = 40.0_f64.to_radians();
const BEYOND_BENT: f64 = 57.0_f64.to_radians();
const CLEARLY_FURTHER: f64 = 15.0_f64.to_radians();
const LARGEST_RESIDUAL: f64 = 12.0_f64.to_radians();
const LEAST_UNCERTAINTY: f64 = 0.06_f64.to_radians();
// The shank held vertical by eye; and strapped on straight by eye as well.
const QUICK_UNCERTAINTY: f64 = 3.0_f64.to_radians();
const NOMINAL_UNCERTAINTY: f64 = 8.0_f64.to_radians();
// Sum of squared rates from which an axis can be told: some 10 s at 10 °/s and 100 Hz, (rad/s)².
const LEAST_TURNING: f64 = 30.0;
// A sensor is not strapped on more than 60° askew.
const QUICK_AGREEMENT: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;

    /// A right shank's sensor, strapped on by `mounting`: verticals and rates of knee angles given in
    /// degrees at 50 Hz, the hip turned by `hip_deg`.
    fn bends(
        knee_deg: impl Fn(f64) -> f64,
        hip_deg: f64,
        mounting: &nalgebra::UnitQuaternion<f64>,
    ) -> Vec<BendSample> {
        let up = |knee_deg: f64| {
            let (knee, hip) = (knee_deg.to_radians(), hip_deg.to_radians());
            Vector3::new(-knee.cos() * hip.cos(), hip.sin(), -knee.sin() * hip.cos())
        };
        (0..500)
            .map(|i| {
                let time = f64::from(i) / 50.0;
                let rate = (knee_deg(time + 0.01) - knee_deg(time - 0.01)).to_radians() / 0.02;
                BendSample {
                    rate: mounting * (Vector3::y() * rate),
                    up: mounting * up(knee_deg(time)),
                }
            })
            .collect()
    }

    fn askew() -> nalgebra::UnitQuaternion<f64> {
        nalgebra::UnitQuaternion::from_euler_angles(0.2, -0.35, 0.5)
    }

    fn upright() -> Vector3<f64> {
        askew() * -Vector3::z()
    }

    fn error_deg(alignment: &Alignment) -> f64 {
        alignment.axes.knee.angle(&(askew() * Vector3::y())).to_degrees()
    }

    #[test]
    fn whichever_way_the_bends_begin() {
        let straightened = |t: f64| 50.0 + 40.0 * (2.0 * t).cos();
        let bent_first = |t: f64| {
            let wave = (2.0 * t).sin();
            90.0 + if wave > 0.0 { 40.0 * wave } else { 85.0 * wave }
        };
        let one_lift = |t: f64| (30.0 * t).min(90.0);
        let moves: [&dyn Fn(f64) -> f64; 3] = [&straightened, &bent_first, &one_lift];
        for knee in moves {
            let bends = bends(knee, 0.0, &askew());
            let alignment = from_knee_bends(&upright(), &bends, Posture::Prone).unwrap();
            assert!(error_deg(&alignment) < 1e-3, "{}", error_deg(&alignment));
        }
    }

    #[test]
    fn a_hip_turned_meanwhile_hardly_matters() {
        let bends = bends(|t| 50.0 + 40.0 * (2.0 * t).cos(), 8.0, &askew());
        let alignment = from_knee_bends(&upright(), &bends, Posture::Prone).unwrap();
        assert!(error_deg(&alignment) < 0.3, "{}", error_deg(&alignment));
    }

    #[test]
    fn what_cannot_be_told_is_refused() {
        let small = bends(|t| 90.0 + 10.0 * (2.0 * t).sin(), 0.0, &askew());
        let refused =
            |bends: &[BendSample]| from_knee_bends(&upright(), bends, Posture::Prone).unwrap_err();
        assert!(matches!(refused(&small), AlignmentError::TooSmall { .. }));
        let even = bends(|t| 90.0 + 35.0 * (2.0 * t).sin(), 0.0, &askew());
        assert!(matches!(refused(&even), AlignmentError::AmbiguousSign { .. }));
        // Only bent deeper, by as much as a knee allows: that could as well be half straightened.
        let deeper = bends(|t| 115.0 - 25.0 * (2.0 * t).cos(), 0.0, &askew());
        assert!(matches!(refused(&deeper), AlignmentError::AmbiguousSign { .. }));
        let mut twisted = bends(|t| 50.0 + 40.0 * (2.0 * t).cos(), 0.0, &askew());
        for bend in &mut twisted {
            bend.rate = nalgebra::Rotation3::from_axis_angle(&Vector3::x_axis(), 0.6) * bend.rate;
        }
        assert!(matches!(refused(&twisted), AlignmentError::NotOneAxis { .. }));
    }

    #[test]
    fn quick_alignment_sees_from_hip_rotations_how_the_sensor_is_turned() {
        let turned = nalgebra::UnitQuaternion::from_euler_angles(0.0, 0.0, 0.45);
        let rotations = (0..1000).map(|i| turned * (Vector3::x() * (f64::from(i) * 0.02).sin()));
        let alignment = quick(&-Vector3::z(), rotations);
        assert!(alignment.axes.knee.angle(&(turned * Vector3::y())) < 1e-9);
        let blind = quick(&-Vector3::z(), std::iter::empty());
        assert!(blind.axes.knee.angle(&Vector3::y()) < 1e-9);
        assert!(blind.uncertainty_rad > alignment.uncertainty_rad);
    }
}
