//! Where a movement began: looking back from a point to where the limb last turned.

use std::collections::VecDeque;

use endarc_protocol::words::Direction;

use super::Point;

/// The points since the limb last stood at `turned_deg` (degrees along the direction).
pub(super) fn since(points: &VecDeque<Point>, direction: Direction, turned_deg: f64) -> Vec<Point> {
    let stood = |point: &Point| point.angle_deg * direction.sign() < turned_deg + BEGUN_DEG;
    let begin = points.iter().rposition(stood).unwrap_or(0);
    points.iter().skip(begin).copied().collect()
}

/// Which way a limb that stands at `now_deg` (internal positive) came, and where it turned last,
/// degrees along that way. Going back in time, the first departure of more than 2° tells the way, or
/// where there is none the largest; the turn is where it goes back up by as much. `None` for a limb
/// that has not moved.
pub(super) fn last(
    points: &VecDeque<Point>,
    now_deg: f64,
    directions: &[Direction],
) -> Option<(Direction, f64)> {
    let came = |direction: &Direction| {
        let now = now_deg * direction.sign();
        let back = || points.iter().rev().map(|point| point.angle_deg * direction.sign());
        let far = back().position(|along| now - along > CLEAR_DEG);
        let most = back().map(|along| now - along).fold(0.0, f64::max);
        (far.unwrap_or(usize::MAX), most)
    };
    let direction = *directions.iter().min_by(|a, b| {
        let ((far_a, most_a), (far_b, most_b)) = (came(a), came(b));
        far_a.cmp(&far_b).then(most_b.total_cmp(&most_a))
    })?;
    let mut turned_deg = now_deg * direction.sign();
    for point in points.iter().rev() {
        let along = point.angle_deg * direction.sign();
        if along > turned_deg + CLEAR_DEG && turned_deg < now_deg * direction.sign() - LEAST_DEG {
            break;
        }
        turned_deg = turned_deg.min(along);
    }
    (now_deg * direction.sign() - turned_deg > LEAST_DEG).then_some((direction, turned_deg))
}

// A movement has begun when the limb is this far from where it turned.
const BEGUN_DEG: f64 = 0.7;
// More than tremor.
const CLEAR_DEG: f64 = 2.0;
const LEAST_DEG: f64 = 1.0;
