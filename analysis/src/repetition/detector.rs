//! Following the hip angle: excursions, and the moment at which an end range is captured.
//!
//! The limb *rests* where it dwells about neutral, or for a stiff hip somewhere else. A movement that
//! goes far enough from where it rests and from where it last turned is an *excursion*; it is
//! captured when the limb first stands still near its furthest point or turns back from it, and over
//! when little of its way is left. All thresholds are the constants at the end, each with what it
//! stands for.

use std::collections::VecDeque;

use endarc_protocol::words::Direction;

use super::Point;
use super::rest::{RestMoved, RestWatch};
use super::steady::{LONGEST_GAP_S, Steady};
use super::turn;

/// A movement out of the rest zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Excursion {
    /// Which way.
    pub direction: Direction,
    /// When the movement began, s.
    pub start_s: f64,
    /// The points from its beginning on.
    pub points: Vec<Point>,
    /// When the therapist marked its end range, s; the last mark counts.
    pub marked_s: Option<f64>,
}

/// What the detector noticed.
#[derive(Debug, Clone, PartialEq)]
pub enum Noticed {
    /// The limb stands still at an end, or has just turned back from one, or was marked there.
    Captured,
    /// The limb has left its end for good: further back than a contraction gives.
    Left,
    /// The excursion is over.
    Over(Excursion),
    /// The movements set out from another place than before.
    RestMoved(RestMoved),
}

/// The state machine.
#[derive(Debug, Clone)]
pub struct Detector {
    directions: &'static [Direction],
    rest_deg: f64,
    settled: bool,
    steady: Steady,
    waited: VecDeque<Point>,
    valley: Option<Valley>,
    excursion: Option<Open>,
    rests: RestWatch,
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
    /// Where it set out, degrees along its direction.
    from_deg: f64,
    peak_deg: f64,
    captured: bool,
    left: bool,
}

impl Detector {
    /// A detector of movements in these directions.
    #[must_use]
    pub fn new(directions: &'static [Direction]) -> Self {
        Self {
            directions,
            rest_deg: 0.0,
            settled: false,
            steady: Steady::default(),
            waited: VecDeque::new(),
            valley: None,
            excursion: None,
            rests: RestWatch::default(),
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
        self.steady.still()
    }

    /// Takes the next point.
    pub fn push(&mut self, point: Point) -> Option<Noticed> {
        if self.steady.last().is_some_and(|last| point.time_s - last.time_s > LONGEST_GAP_S) {
            self.waited.clear();
        }
        self.steady.push(point);
        if self.excursion.is_some() { self.follow(point) } else { self.wait(point) }
    }

    /// The therapist marks the present position as an end range, however near to rest. It is captured
    /// now if it was not yet; without an excursion one is opened from where the limb last turned.
    /// `None` where nothing is new, or the limb has not moved.
    pub fn mark(&mut self) -> Option<Noticed> {
        let now = self.steady.last()?;
        if self.excursion.is_none() {
            self.open_marked(now)?;
        }
        let open = self.excursion.as_mut()?;
        open.excursion.marked_s = Some(now.time_s);
        let captured = std::mem::replace(&mut open.captured, true);
        (!captured).then_some(Noticed::Captured)
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
        self.steady.clear();
        self.rests = RestWatch::default();
        self.cut()
    }

    fn wait(&mut self, point: Point) -> Option<Noticed> {
        let angle = self.steady.level_deg();
        self.waited.push_back(point);
        while self.waited.front().is_some_and(|p| point.time_s - p.time_s > LONGEST_APPROACH_S) {
            self.waited.pop_front();
        }
        let valley = self.valley.get_or_insert(Valley { lowest_deg: angle, highest_deg: angle });
        valley.lowest_deg = valley.lowest_deg.min(angle);
        valley.highest_deg = valley.highest_deg.max(angle);
        let valley = *valley;
        self.settle(angle);
        let leaves = |direction: &&Direction| {
            let sign = direction.sign();
            let from_turn = angle * sign - valley.turned_deg(**direction);
            from_turn > LEAVE_DEG && (angle - self.rest_deg) * sign > LEAST_END_DEG
        };
        let direction = *self.directions.iter().find(leaves)?;
        let from_deg = valley.turned_deg(direction);
        let points = turn::since(&self.waited, direction, from_deg);
        self.begin(direction, from_deg, points);
        let start_s = self.open().map_or(point.time_s, |open| open.start_s);
        self.rests
            .sets_out(direction, from_deg * direction.sign(), start_s, point.time_s)
            .map(Noticed::RestMoved)
    }

    fn begin(&mut self, direction: Direction, from_deg: f64, points: Vec<Point>) {
        self.waited.clear();
        self.excursion = Some(Open {
            from_deg,
            peak_deg: self.steady.level_deg() * direction.sign(),
            excursion: Excursion {
                direction,
                start_s: points.first().map_or(0.0, |first| first.time_s),
                points,
                marked_s: None,
            },
            captured: false,
            left: false,
        });
    }

    fn open_marked(&mut self, now: Point) -> Option<()> {
        let (direction, from_deg) = turn::last(&self.waited, now.angle_deg, self.directions)?;
        let points = turn::since(&self.waited, direction, from_deg);
        self.begin(direction, from_deg, points);
        // What was marked was an end, not a rest: the dwell there took the rest along.
        let taken_deg = self.rest_deg * direction.sign() - from_deg;
        if (0.0..LEAVE_DEG).contains(&taken_deg) {
            self.rest_deg = from_deg * direction.sign();
        }
        Some(())
    }

    /// A dwell tells where the limb rests: about neutral, or for a stiff hip somewhere else; that is
    /// taken over at once after the limb was raised, slowly later on.
    fn settle(&mut self, angle: f64) {
        if !self.steady.still() || angle.abs() > REST_LIMIT_DEG {
            return;
        }
        if !self.settled {
            self.rest_deg = if angle.abs() > ABOUT_NEUTRAL_DEG { angle } else { 0.0 };
            (self.settled, self.valley) = (true, None);
        } else if (angle - self.rest_deg).abs() < LEAVE_DEG {
            let share = (self.steady.interval_s() / REST_MEMORY_S).min(1.0);
            self.rest_deg += (angle - self.rest_deg) * share;
            if (angle - self.rest_deg).abs() < AT_REST_DEG {
                self.valley = Some(Valley { lowest_deg: angle, highest_deg: angle });
            }
        }
    }

    fn follow(&mut self, point: Point) -> Option<Noticed> {
        let rest_deg = self.rest_deg;
        let open = self.excursion.as_mut()?;
        let sign = open.excursion.direction.sign();
        if open.excursion.points.len() < MOST_POINTS {
            open.excursion.points.push(point);
        }
        let along = self.steady.level_deg() * sign;
        open.peak_deg = open.peak_deg.max(along);
        if along < open.returned_deg(rest_deg * sign) {
            let over = self.excursion.take().map(|open| open.excursion)?;
            self.valley = Some(Valley { lowest_deg: along * sign, highest_deg: along * sign });
            return Some(Noticed::Over(over));
        }
        let gone_back = open.peak_deg - along;
        let way = open.peak_deg - open.from_deg;
        let held = self.steady.still() && gone_back < NEAR_PEAK_DEG;
        let turning_back = self.steady.slope_deg_s().is_some_and(|slope| slope * sign < 0.0);
        let turned = turning_back
            && gone_back > (TURNED_SHARE * way).clamp(LEAST_TURNED_DEG, MOST_TURNED_DEG);
        if (held || turned) && !open.captured {
            open.captured = true;
            return Some(Noticed::Captured);
        }
        if !open.left && open.captured && gone_back > (LEFT_SHARE * way).max(LEFT_DEG) {
            open.left = true;
            return Some(Noticed::Left);
        }
        None
    }
}

impl Valley {
    /// Where the limb turned towards a direction, degrees along it.
    fn turned_deg(&self, direction: Direction) -> f64 {
        let sign = direction.sign();
        if sign > 0.0 { self.lowest_deg } else { -self.highest_deg }
    }
}

impl Open {
    /// Below this the movement is over, degrees along its direction; `rest_deg` is where the limb
    /// rests.
    fn returned_deg(&self, rest_deg: f64) -> f64 {
        if self.excursion.marked_s.is_some() && self.peak_deg - rest_deg < LEAST_END_DEG {
            let set_out =
                if rest_deg < self.peak_deg { self.from_deg.max(rest_deg) } else { self.from_deg };
            return f64::midpoint(set_out, self.peak_deg);
        }
        rest_deg + (RETURN_SHARE * (self.peak_deg - rest_deg)).max(RETURN_DEG)
    }
}

/// A movement is an excursion when it has gone so far from where the limb last turned, and so far from
/// where it rests: wandering and tremor stay below, an end range of 8° does not.
const LEAVE_DEG: f64 = 5.0;
const LEAST_END_DEG: f64 = 6.8;
const LONGEST_APPROACH_S: f64 = 30.0;
// It is over when this share of it is left; a dip, a contraction or a pause on the way leaves more.
const RETURN_SHARE: f64 = 0.28;
const RETURN_DEG: f64 = 2.5;
const NEAR_PEAK_DEG: f64 = 1.5;
// Turned back without a hold: by a tenth of the way. Averaged over a fifth of a second, tremor stays
// below the least.
const TURNED_SHARE: f64 = 0.1;
const LEAST_TURNED_DEG: f64 = 0.8;
const MOST_TURNED_DEG: f64 = 2.5;
// A contraction gives 2–5°; a dip on the way is a small share of it.
const LEFT_DEG: f64 = 5.5;
const LEFT_SHARE: f64 = 0.2;
// A limb may rest this far from neutral; further out a dwell is an end, not a rest.
const REST_LIMIT_DEG: f64 = 20.0;
// A dwell within this is neutral, where gravity puts the zero.
const ABOUT_NEUTRAL_DEG: f64 = 4.0;
// A dwell so near to rest is where the next movement sets out; further out it may be a first push.
const AT_REST_DEG: f64 = 3.0;
// The rest follows a dwell within about this time, s.
const REST_MEMORY_S: f64 = 8.0;
// Two minutes at 200 Hz: no hold is longer.
const MOST_POINTS: usize = 24_000;
