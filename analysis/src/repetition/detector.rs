//! Following the hip angle: excursions, and the moment at which an end range is captured.

use std::collections::VecDeque;

use endarc_protocol::words::Direction;

use super::Point;

/// A movement out of the rest zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Excursion {
    /// Which way.
    pub direction: Direction,
    /// When the movement began, s.
    pub start_s: f64,
    /// The points from its beginning on.
    pub points: Vec<Point>,
}

/// What the detector noticed.
#[derive(Debug, Clone, PartialEq)]
pub enum Noticed {
    /// The limb stands still at an end, or has just turned back from one.
    Captured,
    /// The excursion is over.
    Over(Excursion),
}

/// The state machine. Thresholds are degrees; see the constants for what each stands for.
#[derive(Debug, Clone)]
pub struct Detector {
    directions: &'static [Direction],
    rest_deg: f64,
    settled: bool,
    recent: VecDeque<Point>,
    /// Slope of the recent angle, °/s; `None` where it is too short to have one.
    slope_deg_s: Option<f64>,
    still: bool,
    waited: VecDeque<Point>,
    valley: Option<Valley>,
    excursion: Option<Open>,
}

/// Where the angle turned since the last excursion, each way.
#[derive(Debug, Clone, Copy)]
struct Valley {
    lowest_deg: f64,
    highest_deg: f64,
}

#[derive(Debug, Clone)]
struct Open {
    excursion: Excursion,
    peak_deg: f64,
    captured: bool,
}

impl Detector {
    /// A detector of movements in these directions.
    #[must_use]
    pub const fn new(directions: &'static [Direction]) -> Self {
        Self {
            directions,
            rest_deg: 0.0,
            settled: false,
            recent: VecDeque::new(),
            slope_deg_s: None,
            still: false,
            waited: VecDeque::new(),
            valley: None,
            excursion: None,
        }
    }

    /// The excursion in progress, if there is one.
    #[must_use]
    pub fn open(&self) -> Option<&Excursion> {
        self.excursion.as_ref().map(|open| &open.excursion)
    }

    /// Whether the hip angle has kept still for a little more than half a second.
    #[must_use]
    pub const fn still(&self) -> bool {
        self.still
    }

    /// Takes the next point.
    pub fn push(&mut self, point: Point) -> Option<Noticed> {
        if self.recent.back().is_some_and(|last| point.time_s - last.time_s > LONGEST_GAP_S) {
            self.recent.clear();
            self.waited.clear();
        }
        self.recent.push_back(point);
        while self.recent.front().is_some_and(|p| point.time_s - p.time_s > STILL_WINDOW_S) {
            self.recent.pop_front();
        }
        self.slope_deg_s = slope_deg_s(&self.recent);
        let span_s = self.recent.front().map_or(0.0, |first| point.time_s - first.time_s);
        self.still = span_s > 0.9 * STILL_WINDOW_S
            && self.slope_deg_s.is_some_and(|slope| slope.abs() < STILL_SLOPE_DEG_S);
        if self.excursion.is_some() { self.follow(point) } else { self.wait(point) }
    }

    /// A span begins or ends: what is in progress ends here if its end had been reached; a limb that
    /// was still on its way has none.
    pub fn cut(&mut self) -> Option<Excursion> {
        self.valley = None;
        self.waited.clear();
        self.excursion.take().filter(|open| open.captured).map(|open| open.excursion)
    }

    /// The leg was laid down: whatever is in progress ends here, and where the limb will rest next
    /// is not known.
    pub fn finish(&mut self) -> Option<Excursion> {
        self.settled = false;
        self.recent.clear();
        self.still = false;
        self.cut()
    }

    fn wait(&mut self, point: Point) -> Option<Noticed> {
        let angle = point.angle_deg;
        self.waited.push_back(point);
        while self.waited.front().is_some_and(|p| point.time_s - p.time_s > LONGEST_APPROACH_S) {
            self.waited.pop_front();
        }
        let valley = self.valley.get_or_insert(Valley { lowest_deg: angle, highest_deg: angle });
        valley.lowest_deg = valley.lowest_deg.min(angle);
        valley.highest_deg = valley.highest_deg.max(angle);
        let valley = *valley;
        let interval_s = self.recent.iter().rev().nth(1).map_or(0.0, |p| point.time_s - p.time_s);
        self.settle(angle, interval_s);
        let inward = (angle - self.rest_deg).min(angle - valley.lowest_deg);
        let outward = (self.rest_deg - angle).min(valley.highest_deg - angle);
        let leaves = |direction: &&Direction| {
            let by_deg = if direction.sign() > 0.0 { inward } else { outward };
            by_deg > LEAVE_DEG
        };
        let direction = *self.directions.iter().find(leaves)?;
        let points = self.since_turn(direction, valley);
        self.excursion = Some(Open {
            excursion: Excursion {
                direction,
                start_s: points.first().map_or(point.time_s, |first| first.time_s),
                points,
            },
            peak_deg: angle * direction.sign(),
            captured: false,
        });
        None
    }

    /// A dwell tells where the limb rests: about neutral, or for a stiff hip somewhere else; that is
    /// taken over at once after the limb was raised, slowly later on.
    fn settle(&mut self, angle: f64, interval_s: f64) {
        if !self.still || angle.abs() > REST_LIMIT_DEG {
            return;
        }
        if !self.settled {
            self.rest_deg = if angle.abs() > ABOUT_NEUTRAL_DEG { angle } else { 0.0 };
            (self.settled, self.valley) = (true, None);
        } else if (angle - self.rest_deg).abs() < LEAVE_DEG {
            self.rest_deg += (angle - self.rest_deg) * (interval_s / REST_MEMORY_S).min(1.0);
            self.valley = Some(Valley { lowest_deg: angle, highest_deg: angle });
        }
    }

    fn follow(&mut self, point: Point) -> Option<Noticed> {
        let rest_deg = self.rest_deg;
        let open = self.excursion.as_mut()?;
        let sign = open.excursion.direction.sign();
        let along = point.angle_deg * sign;
        if open.excursion.points.len() < MOST_POINTS {
            open.excursion.points.push(point);
        }
        open.peak_deg = open.peak_deg.max(along);
        let rest = rest_deg * sign;
        let leave = rest + (RETURN_SHARE * (open.peak_deg - rest)).max(RETURN_DEG);
        if along < leave {
            let over = self.excursion.take().map(|open| open.excursion)?;
            self.valley =
                Some(Valley { lowest_deg: point.angle_deg, highest_deg: point.angle_deg });
            return Some(Noticed::Over(over));
        }
        let held = self.still && along > open.peak_deg - NEAR_PEAK_DEG;
        let turning_back = self.slope_deg_s.is_some_and(|slope| slope * sign < 0.0);
        let turned = turning_back && along < open.peak_deg - TURNED_DEG;
        if (held || turned) && !open.captured {
            open.captured = true;
            return Some(Noticed::Captured);
        }
        None
    }

    /// The points waited through since the limb last stood where it turned towards `direction`.
    fn since_turn(&mut self, direction: Direction, valley: Valley) -> Vec<Point> {
        let sign = direction.sign();
        let turned_deg = if sign > 0.0 { valley.lowest_deg } else { -valley.highest_deg };
        let begin = self
            .waited
            .iter()
            .rposition(|point| point.angle_deg * sign < turned_deg + BEGUN_DEG)
            .unwrap_or(0);
        self.waited.drain(..).skip(begin).collect()
    }
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

/// So far from rest, and from where it last turned, a movement is an excursion: wandering and
/// tremor stay below.
const LEAVE_DEG: f64 = 5.0;
// A movement has begun when the limb is this far from where it turned.
const BEGUN_DEG: f64 = 0.7;
const LONGEST_APPROACH_S: f64 = 30.0;
// It is over when this share of it is left; a dip, a contraction or a pause on the way leaves more.
const RETURN_SHARE: f64 = 0.28;
const RETURN_DEG: f64 = 2.5;
// Still: over this window the angle does not go anywhere.
const STILL_WINDOW_S: f64 = 0.55;
const STILL_SLOPE_DEG_S: f64 = 1.0;
const NEAR_PEAK_DEG: f64 = 1.5;
// Turned back without a hold.
const TURNED_DEG: f64 = 2.5;
// A limb may rest this far from neutral; further out a dwell is an end, not a rest.
const REST_LIMIT_DEG: f64 = 20.0;
// A dwell within this is neutral, where gravity puts the zero.
const ABOUT_NEUTRAL_DEG: f64 = 8.0;
// The rest follows a dwell within about this time, s.
const REST_MEMORY_S: f64 = 20.0;
const LONGEST_GAP_S: f64 = 0.5;
// Two minutes at 200 Hz: no hold is longer.
const MOST_POINTS: usize = 24_000;
