//! Least squares for two directions at once.

use nalgebra::{Matrix3x2, Matrix4, SymmetricEigen, Vector3, Vector4};

use super::Moment;

/// What is looked at: the turning across the axis, and the verticals too or not.
#[derive(Clone, Copy)]
pub(super) struct Looks<'a> {
    pub(super) moments: &'a [Moment],
    pub(super) verticals: bool,
}

/// Two directions that fit.
pub(super) struct Fit {
    /// Unit, one in each sensor's frame.
    pub(super) directions: [Vector3<f64>; 2],
    /// Robust cost: mean over the residuals, each in units of its noise.
    pub(super) cost: f64,
    /// One standard uncertainty of the less certain direction, rad.
    pub(super) uncertainty_rad: f64,
}

/// One Gauss–Newton system in the four tangent coordinates of the two directions.
struct System {
    normal: Matrix4<f64>,
    right: Vector4<f64>,
    cost: f64,
    squares: f64,
    count: usize,
}

impl Looks<'_> {
    /// Gauss–Newton from `start` (unit), with steps halved as long as they make it worse.
    pub(super) fn fit(&self, start: [Vector3<f64>; 2]) -> Fit {
        let mut directions = start;
        let mut system = self.system(&directions);
        for _ in 0..STEPS {
            let damped = system.normal + Matrix4::identity() * DAMPING;
            let Some(inverse) = damped.try_inverse() else { break };
            let step = -(inverse * system.right);
            let better = [1.0, 0.5, 0.25, 0.125, 0.031_25].iter().find_map(|share| {
                let moved = moved(&directions, &(step * *share));
                let next = self.system(&moved);
                (next.cost < system.cost).then_some((moved, next))
            });
            let Some((moved, next)) = better else { break };
            (directions, system) = (moved, next);
            if step.norm() < CONVERGED_RAD {
                break;
            }
        }
        let cost = system.cost / system.count.max(1) as f64;
        Fit { directions, cost, uncertainty_rad: system.uncertainty_rad() }
    }

    fn system(&self, directions: &[Vector3<f64>; 2]) -> System {
        let tangents = directions.map(|direction| tangent(&direction));
        let mut system = System {
            normal: Matrix4::zeros(),
            right: Vector4::zeros(),
            cost: 0.0,
            squares: 0.0,
            count: 0,
        };
        for moment in self.moments {
            let [first, second] = [0, 1].map(|side| across(&moment.rates[side], &directions[side]));
            let turning = moment.rates[0].norm().max(moment.rates[1].norm());
            let noise = RATE_NOISE_RAD_S.hypot(RATE_NOISE_SHARE * turning);
            system.add(&tangents, [first.1, -second.1], first.0 - second.0, noise);
            if self.verticals {
                let [first, second] = [0, 1].map(|side| moment.ups[side].dot(&directions[side]));
                let [one, other] = moment.inclination_sds_rad;
                let noise = one.hypot(other).max(LEAST_UP_NOISE) * UPS_ALIKE.sqrt();
                system.add(&tangents, [moment.ups[0], -moment.ups[1]], first - second, noise);
            }
        }
        system
    }
}

impl System {
    /// Adds a residual with its slope along either direction. Its weight falls off like that of the
    /// pseudo-Huber cost `2(√(1+r²)−1)`, so that a knock is not believed.
    fn add(
        &mut self,
        tangents: &[Matrix3x2<f64>; 2],
        slopes: [Vector3<f64>; 2],
        residual: f64,
        noise: f64,
    ) {
        let [one, other] = [0, 1].map(|side| tangents[side].tr_mul(&slopes[side]) / noise);
        let slope = Vector4::new(one.x, one.y, other.x, other.y);
        let residual = residual / noise;
        let root = (1.0 + residual * residual).sqrt();
        self.normal += slope * slope.transpose() / root;
        self.right += slope * (residual / root);
        self.cost += 2.0 * (root - 1.0);
        self.squares += residual * residual / root;
        self.count += 1;
    }

    /// From the curvature of the cost, with the noise that the residuals themselves show.
    fn uncertainty_rad(&self) -> f64 {
        let noise = self.squares / (self.count.max(1) as f64 / ALIKE).max(1.0);
        let least = SymmetricEigen::new(self.normal).eigenvalues.min() / self.count.max(1) as f64;
        (noise / self.count.max(1) as f64 / least.max(f64::MIN_POSITIVE)).sqrt()
    }
}

/// How fast a sensor turns across a direction, and the slope of that.
fn across(rate: &Vector3<f64>, direction: &Vector3<f64>) -> (f64, Vector3<f64>) {
    let across = rate.cross(direction);
    let size = across.norm();
    // Turning exactly about the direction has no slope.
    (size, if size > 1e-9 { across.cross(rate) / size } else { Vector3::zeros() })
}

/// Two unit vectors at right angles to a direction and to each other.
fn tangent(direction: &Vector3<f64>) -> Matrix3x2<f64> {
    let first = super::angle::across(direction);
    Matrix3x2::from_columns(&[first, direction.cross(&first)])
}

fn moved(directions: &[Vector3<f64>; 2], step: &Vector4<f64>) -> [Vector3<f64>; 2] {
    let [one, other] = directions.map(|direction| (direction, tangent(&direction)));
    [
        (one.0 + one.1 * step.fixed_rows::<2>(0)).normalize(),
        (other.0 + other.1 * step.fixed_rows::<2>(2)).normalize(),
    ]
}

const STEPS: usize = 40;
const DAMPING: f64 = 1e-6;
const CONVERGED_RAD: f64 = 1e-7;
// What a gyroscope's rate is wrong by: noise, rad/s, and as a share of how fast it turns (scale,
// straightness of its axes, and the two sensors not sampling at quite the same time).
const RATE_NOISE_RAD_S: f64 = 1.0_f64.to_radians();
const RATE_NOISE_SHARE: f64 = 0.015;
const LEAST_UP_NOISE: f64 = 0.5_f64.to_radians();
// The error of a filtered vertical lasts for about a second, in which a hand turns a segment by some
// 100°: so many moments, 5° apart, say the same thing.
const UPS_ALIKE: f64 = 20.0;
// Neighbouring residuals are alike: so many count for one.
const ALIKE: f64 = 10.0;
