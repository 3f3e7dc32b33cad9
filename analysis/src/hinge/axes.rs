//! Finding the joint's axis from movement.
//!
//! Two things hold at every moment, however the segments move. The joint adds turning along the axis
//! only, so what the gyroscopes see across it is the same: `|ω₁ × j₁| = |ω₂ × j₂|` (Seel, Raisch &
//! Schauer, Sensors 14:6891, 2014). And the axis is one line in space, so it stands at the same
//! inclination for both: `j₁·u₁ = j₂·u₂`. The second is the accelerometer's part in Olsson et al.,
//! Sensors 20:3534, 2020, with the filtered vertical in the place of the raw specific force, which is
//! spoilt by the segments' own accelerations. It also tells which ends of the two belong together.

use nalgebra::{Unit, Vector3};

use super::fit::{Fit, Looks};
use super::{HingeAxes, HingeError, Moment};

/// The joint's axis in either sensor's frame.
///
/// # Errors
/// See [`HingeError`].
pub fn axes(moments: &[Moment]) -> Result<HingeAxes, HingeError> {
    let chosen = by_turning(moments);
    if chosen.len() < LEAST_MOMENTS {
        let turned_deg = (chosen.len() as f64 * TURN_RAD).to_degrees();
        return Err(HingeError::TooLittleTurning { turned_deg });
    }
    let across = Looks { verticals: false, moments: &chosen };
    let best = STARTS
        .iter()
        .flat_map(|first| STARTS.iter().map(move |second| [*first, *second]))
        .map(|start| across.fit(start.map(|direction| direction.normalize())))
        .min_by(|a, b| a.cost.total_cmp(&b.cost));
    let [first, second] = best.map_or_else(|| [Vector3::x(); 2], |fit| fit.directions);
    let both = Looks { verticals: true, moments: &chosen };
    let [same, turned] = [both.fit([first, second]), both.fit([first, -second])];
    judged(if same.cost <= turned.cost { &same } else { &turned }, &chosen)
}

/// Moments that each bring something new: one whenever the sensors have turned on by [`TURN_RAD`].
/// Rest brings nothing, and a slow movement as much as a fast one that goes as far.
fn by_turning(moments: &[Moment]) -> Vec<Moment> {
    let mut turned_rad = 0.0;
    let mut before_s = None;
    let mut chosen = Vec::new();
    for moment in moments {
        let interval_s = before_s.map_or(0.0, |before_s| moment.time_s - before_s);
        before_s = Some(moment.time_s);
        let fastest = moment.rates[0].norm().max(moment.rates[1].norm());
        turned_rad += fastest * interval_s.clamp(0.0, LONGEST_INTERVAL_S);
        if turned_rad >= TURN_RAD {
            turned_rad = 0.0;
            chosen.push(*moment);
        }
    }
    chosen
}

/// The axes of a fit, unless it says nothing.
fn judged(fit: &Fit, chosen: &[Moment]) -> Result<HingeAxes, HingeError> {
    let residual_share = residual_share(&fit.directions, chosen);
    if residual_share > LARGEST_SHARE {
        return Err(HingeError::NotAHinge { residual_percent: 100.0 * residual_share });
    }
    if fit.uncertainty_rad > LARGEST_UNCERTAINTY {
        let uncertainty_deg = fit.uncertainty_rad.to_degrees().min(90.0);
        return Err(HingeError::Undetermined { uncertainty_deg });
    }
    Ok(HingeAxes {
        directions: fit.directions.map(Unit::new_normalize),
        uncertainty_rad: fit.uncertainty_rad.hypot(LEAST_UNCERTAINTY),
        residual_share,
    })
}

fn residual_share(directions: &[Vector3<f64>; 2], chosen: &[Moment]) -> f64 {
    let (mut apart, mut turning) = (0.0, 0.0);
    for moment in chosen {
        let [first, second] = [0, 1].map(|side| moment.rates[side].cross(&directions[side]).norm());
        apart += (first - second).powi(2);
        turning += moment.rates[0].norm_squared() + moment.rates[1].norm_squared();
    }
    (apart / turning.max(f64::MIN_POSITIVE)).sqrt()
}

/// The diagonals of a cube: no line in space is further than 55° from one of them.
const STARTS: [Vector3<f64>; 4] = [
    Vector3::new(1.0, 1.0, 1.0),
    Vector3::new(1.0, 1.0, -1.0),
    Vector3::new(1.0, -1.0, 1.0),
    Vector3::new(-1.0, 1.0, 1.0),
];
const TURN_RAD: f64 = 5.0_f64.to_radians();
// A longer interval holds missing samples, s.
const LONGEST_INTERVAL_S: f64 = 0.1;
// So many steps of turning are the least from which four numbers are told.
const LEAST_MOMENTS: usize = 50;
const LARGEST_SHARE: f64 = 0.1;
const LARGEST_UNCERTAINTY: f64 = 5.0_f64.to_radians();
// The sensors' own axes are no straighter than that (common practice: 0.1 to 0.5°).
const LEAST_UNCERTAINTY: f64 = 0.2_f64.to_radians();
