//! The prone knee bend: the knee flexion at which the pelvis begins to tilt.
//!
//! Until the front of the thigh is taut the pelvis lies still; from then on it tilts in proportion.
//! The onset is the corner of a broken stick fitted to tilt against flexion on the way out, by least
//! squares over the place of the corner (Hudson, J. Am. Stat. Assoc. 61:1097, 1966).

use nalgebra::{Matrix2, Vector2};

use crate::repetition::Point;

/// Where the pelvis begins to tilt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Onset {
    /// Knee flexion there, degrees.
    pub flexion_deg: f64,
    /// One standard uncertainty of it from the pelvis' own unrest, degrees.
    pub sd_deg: f64,
    /// When it was passed, s.
    pub at_s: f64,
}

/// The onset on the way out of a knee bend (points by time, flexion as their angle, tilt as their
/// roll); `None` if the pelvis was not seen or did not clearly tilt.
#[must_use]
pub fn tilt_onset(points: &[Point]) -> Option<Onset> {
    let top =
        (0..points.len()).max_by(|&a, &b| points[a].angle_deg.total_cmp(&points[b].angle_deg))?;
    let way: Vec<(f64, f64)> = points[..=top]
        .iter()
        .map(|point| Some((point.angle_deg, point.roll_deg?)))
        .collect::<Option<_>>()?;
    let largest = way.last()?.0;
    let smallest = way.iter().map(|(flexion, _)| *flexion).fold(largest, f64::min);
    let corners = || {
        let count = ((largest - smallest - 2.0 * MARGIN_DEG) / GRID_DEG).max(0.0) as usize;
        (0..=count).map(|i| smallest + MARGIN_DEG + GRID_DEG * i as f64)
    };
    let fits: Vec<(f64, Stick)> =
        corners().filter_map(|corner| Some((corner, Stick::fit(&way, corner)?))).collect();
    let best = (0..fits.len()).min_by(|&a, &b| fits[a].1.squares.total_cmp(&fits[b].1.squares))?;
    let (corner, stick) = fits[best];
    if stick.slope * (largest - corner) < LEAST_TILT_DEG {
        return None;
    }
    let (shift, curvature) = crest(&fits, best)?;
    let flexion_deg = corner + shift;
    let variance = stick.squares / way.len() as f64 * memory(&way, corner, &stick);
    let passed = points[..=top].iter().find(|point| point.angle_deg >= flexion_deg)?;
    Some(Onset {
        flexion_deg,
        sd_deg: (2.0 * variance / curvature).sqrt().hypot(ROUNDING_DEG),
        at_s: passed.time_s,
    })
}

/// Tilt `level + slope · max(0, flexion − corner)`.
#[derive(Debug, Clone, Copy)]
struct Stick {
    level: f64,
    slope: f64,
    squares: f64,
}

impl Stick {
    fn fit(way: &[(f64, f64)], corner: f64) -> Option<Self> {
        let (mut normal, mut right) = (Matrix2::zeros(), Vector2::zeros());
        for (flexion, tilt) in way {
            let row = Vector2::new(1.0, (flexion - corner).max(0.0));
            normal += row * row.transpose();
            right += row * *tilt;
        }
        let found = normal.try_inverse()? * right;
        let mut stick = Self { level: found.x, slope: found.y, squares: 0.0 };
        stick.squares = way.iter().map(|one| stick.rest(one, corner).powi(2)).sum();
        Some(stick)
    }

    fn rest(&self, (flexion, tilt): &(f64, f64), corner: f64) -> f64 {
        tilt - self.level - self.slope * (flexion - corner).max(0.0)
    }
}

/// Crest of the parabola through the least sum of squares and its neighbours: how far the corner is
/// from the grid, degrees, and the second derivative there.
fn crest(fits: &[(f64, Stick)], best: usize) -> Option<(f64, f64)> {
    // Wider than the grid, so that the samples' own grain does not count as curvature.
    let reach = CREST_REACH.min(best).min(fits.len() - 1 - best);
    if reach == 0 {
        return None;
    }
    let squares = |place: usize| fits[place].1.squares;
    let step = GRID_DEG * reach as f64;
    let curvature =
        (squares(best - reach) - 2.0 * squares(best) + squares(best + reach)) / step.powi(2);
    let slope = (squares(best + reach) - squares(best - reach)) / (2.0 * step);
    (curvature > 0.0).then(|| ((-slope / curvature).clamp(-step, step), curvature))
}

/// Over how many samples the residuals remember themselves (breathing, tremor): that many say as much
/// as one independent one.
fn memory(way: &[(f64, f64)], corner: f64, stick: &Stick) -> f64 {
    let rests: Vec<f64> = way.iter().map(|one| stick.rest(one, corner)).collect();
    let product = |lag: usize| rests.iter().zip(&rests[lag..]).map(|(a, b)| a * b).sum::<f64>();
    let whole = product(0);
    if whole <= 0.0 {
        return 1.0;
    }
    let mut memory = 1.0;
    for lag in 1..rests.len() / 2 {
        let share = product(lag) / whole;
        if share <= 0.0 {
            break;
        }
        memory += 2.0 * share;
    }
    memory
}

const GRID_DEG: f64 = 0.5;
const CREST_REACH: usize = 6;
// A corner needs something on both sides of it.
const MARGIN_DEG: f64 = 4.0;
// A pelvis that tilts less in all has not clearly tilted.
const LEAST_TILT_DEG: f64 = 1.5;
// The tilt begins smoothly, not at a corner.
const ROUNDING_DEG: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;

    fn bend(tilt: impl Fn(f64, f64) -> Option<f64>) -> Vec<Point> {
        (0..500)
            .map(|i| {
                let time_s = f64::from(i) / 100.0;
                let angle_deg = (30.0 * time_s).min(125.0);
                Point {
                    time_s,
                    angle_deg,
                    knee_deg: angle_deg,
                    roll_deg: tilt(time_s, angle_deg),
                    saturated: false,
                }
            })
            .collect()
    }

    #[test]
    fn finds_the_corner_through_breathing() {
        let breath = |time_s: f64| 0.2 * (std::f64::consts::TAU * 0.25 * time_s).sin();
        let points =
            bend(|time_s, flexion| Some(0.3 * (flexion - 103.0).max(0.0) + breath(time_s)));
        let onset = tilt_onset(&points).unwrap();
        assert!((onset.flexion_deg - 103.0).abs() < 2.0, "{onset:?}");
        assert!((onset.flexion_deg - 103.0).abs() < 3.0 * onset.sd_deg, "{onset:?}");
        assert!((onset.at_s - 103.0 / 30.0).abs() < 0.1);
        let calm = bend(|_, flexion| Some(0.3 * (flexion - 103.0).max(0.0)));
        assert!((tilt_onset(&calm).unwrap().flexion_deg - 103.0).abs() < 0.2);
    }

    #[test]
    fn a_pelvis_that_lies_still_or_is_not_seen_has_no_onset() {
        let breath = |time_s: f64, _: f64| Some(0.3 * (1.6 * time_s).sin());
        assert_eq!(tilt_onset(&bend(breath)), None);
        assert_eq!(tilt_onset(&bend(|_, _| None)), None);
    }
}
