//! The last moments of the angle: whether it keeps still, which way it goes, and its level with the
//! tremor averaged out.

use std::collections::VecDeque;

use super::Point;

/// A sliding window over the angle.
#[derive(Debug, Clone, Default)]
pub(super) struct Steady {
    recent: VecDeque<Point>,
    slope_deg_s: Option<f64>,
    level_deg: f64,
    still: bool,
}

impl Steady {
    /// Takes the next point; what lies before a gap is forgotten.
    pub(super) fn push(&mut self, point: Point) {
        if self.recent.back().is_some_and(|last| point.time_s - last.time_s > LONGEST_GAP_S) {
            self.recent.clear();
        }
        self.recent.push_back(point);
        while self.recent.front().is_some_and(|p| point.time_s - p.time_s > STILL_WINDOW_S) {
            self.recent.pop_front();
        }
        let span_s = self.recent.front().map_or(0.0, |first| point.time_s - first.time_s);
        self.slope_deg_s = slope_deg_s(&self.recent);
        self.level_deg = level_deg(&self.recent, point);
        self.still = span_s > 0.9 * STILL_WINDOW_S
            && self.slope_deg_s.is_some_and(|slope| slope.abs() < STILL_SLOPE_DEG_S);
    }

    /// The last point.
    pub(super) fn last(&self) -> Option<Point> {
        self.recent.back().copied()
    }

    /// Time since the point before the last, s.
    pub(super) fn interval_s(&self) -> f64 {
        let mut times = self.recent.iter().rev().map(|point| point.time_s);
        times.next().zip(times.next()).map_or(0.0, |(last, before)| last - before)
    }

    /// Slope of the angle over the window, °/s; `None` where it is too short to have one.
    pub(super) const fn slope_deg_s(&self) -> Option<f64> {
        self.slope_deg_s
    }

    /// Mean angle of the last fifth of a second, degrees.
    pub(super) const fn level_deg(&self) -> f64 {
        self.level_deg
    }

    /// Whether the angle has gone nowhere for a little more than half a second.
    pub(super) const fn still(&self) -> bool {
        self.still
    }

    /// Forgets everything.
    pub(super) fn clear(&mut self) {
        *self = Self::default();
    }
}

fn level_deg(points: &VecDeque<Point>, last: Point) -> f64 {
    let near = points.iter().rev().take_while(|point| last.time_s - point.time_s < LEVEL_S);
    let (sum, count) = near.fold((0.0, 0), |(sum, count), p| (sum + p.angle_deg, count + 1));
    sum / f64::from(count.max(1))
}

/// Slope of the angle by least squares, °/s: a tremor averages out. `None` for fewer than three
/// points.
fn slope_deg_s(points: &VecDeque<Point>) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let count = points.len() as f64;
    let mean_time = points.iter().map(|p| p.time_s).sum::<f64>() / count;
    let mean_angle = points.iter().map(|p| p.angle_deg).sum::<f64>() / count;
    let (mut covariance, mut variance) = (0.0, 0.0);
    for point in points {
        covariance += (point.time_s - mean_time) * (point.angle_deg - mean_angle);
        variance += (point.time_s - mean_time).powi(2);
    }
    Some(covariance / variance)
}

// Still: over this window the angle does not go anywhere. Two beats of the slowest tremor fit in it.
const STILL_WINDOW_S: f64 = 0.55;
const STILL_SLOPE_DEG_S: f64 = 1.0;
// Nearly one beat of the slowest tremor (4 Hz), and short against a movement.
const LEVEL_S: f64 = 0.2;
/// A gap longer than this ends what was known of the moment, s.
pub(super) const LONGEST_GAP_S: f64 = 0.5;
