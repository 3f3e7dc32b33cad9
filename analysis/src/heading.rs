//! The zero of a heading: what makes an angle of a rotation about the vertical.
//!
//! Gravity does not see such a rotation and the gyroscope's integral drifts, so the angle is the
//! heading since a rest at neutral, and the zero itself is followed: its value and its drift, put
//! right at every rest by a Kalman filter of two states, and offline by its smoother (Rauch, Tung &
//! Striebel, AIAA Journal 3:1445, 1965). Between rests the uncertainty grows, and says so.

use nalgebra::{Matrix2, RowVector2, Vector2};

/// A rest at neutral: the limb stood where the angle is zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// The middle of the rest, s.
    pub time_s: f64,
    /// Mean heading, rad, unwrapped.
    pub heading_rad: f64,
    /// How fast the heading went meanwhile, rad/s: the drift.
    pub drift_rad_s: f64,
    /// How long it was, s.
    pub duration_s: f64,
}

impl Rest {
    /// A rest from its headings (time s, heading rad, unwrapped) by a straight line; `None` for one
    /// too short to tell a line.
    #[must_use]
    pub fn of(headings: &[(f64, f64)]) -> Option<Self> {
        let (first_s, last_s) = (headings.first()?.0, headings.last()?.0);
        if last_s - first_s < LEAST_REST_S || headings.len() < 3 {
            return None;
        }
        let count = headings.len() as f64;
        let time_s = headings.iter().map(|(time_s, _)| time_s).sum::<f64>() / count;
        let heading_rad = headings.iter().map(|(_, heading)| heading).sum::<f64>() / count;
        let (mut covariance, mut variance) = (0.0, 0.0);
        for (at_s, heading) in headings {
            covariance += (at_s - time_s) * (heading - heading_rad);
            variance += (at_s - time_s).powi(2);
        }
        Some(Self {
            time_s,
            heading_rad,
            drift_rad_s: covariance / variance,
            duration_s: last_s - first_s,
        })
    }
}

/// The zero of a heading at one time: value (rad) and drift (rad/s) with their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    time_s: f64,
    state: Vector2<f64>,
    covariance: Matrix2<f64>,
}

impl Zero {
    /// The zero that a first rest shows.
    #[must_use]
    pub fn first(rest: &Rest) -> Self {
        let mut zero = Self {
            time_s: rest.time_s,
            state: Vector2::new(rest.heading_rad, 0.0),
            covariance: Matrix2::new(NEUTRAL_SD_RAD.powi(2), 0.0, 0.0, DRIFT_PRIOR_RAD_S.powi(2)),
        };
        zero.measure(RowVector2::new(0.0, 1.0), rest.drift_rad_s, drift_sd_rad_s(rest));
        zero
    }

    /// The zero at another time: value and one standard uncertainty, rad.
    #[must_use]
    pub fn at(&self, time_s: f64) -> (f64, f64) {
        let there = self.predicted(time_s);
        (there.state.x, there.covariance[(0, 0)].sqrt())
    }

    /// The zero after one more rest.
    #[must_use]
    pub fn after(&self, rest: &Rest) -> Self {
        let mut zero = self.predicted(rest.time_s);
        zero.measure(RowVector2::new(1.0, 0.0), rest.heading_rad, NEUTRAL_SD_RAD);
        // A short rest may be the beginning of a slow movement: what it creeps by is no drift.
        if rest.duration_s > LEAST_DRIFT_S {
            zero.measure(RowVector2::new(0.0, 1.0), rest.drift_rad_s, drift_sd_rad_s(rest));
        }
        zero
    }

    fn predicted(&self, time_s: f64) -> Self {
        let step_s = time_s - self.time_s;
        let (move_on, length_s) = (transition(step_s), step_s.abs());
        let mut covariance = move_on * self.covariance * move_on.transpose();
        let wander = WANDER_RAD_S_PER_ROOT_S.powi(2) * length_s;
        covariance[(0, 0)] +=
            ANGLE_WALK_RAD_PER_ROOT_S.powi(2) * length_s + wander * length_s * length_s / 3.0;
        covariance[(0, 1)] += wander * step_s / 2.0;
        covariance[(1, 0)] += wander * step_s / 2.0;
        covariance[(1, 1)] += wander;
        Self { time_s, state: move_on * self.state, covariance }
    }

    fn measure(&mut self, row: RowVector2<f64>, value: f64, sd: f64) {
        let spread = (row * self.covariance * row.transpose()).x + sd * sd;
        let gain = self.covariance * row.transpose() / spread;
        self.state += gain * (value - (row * self.state).x);
        self.covariance -= gain * row * self.covariance;
    }
}

fn transition(step_s: f64) -> Matrix2<f64> {
    Matrix2::new(1.0, step_s, 0.0, 1.0)
}

fn drift_sd_rad_s(rest: &Rest) -> f64 {
    // Slope of a line through a trembling hold, and the hand's own slow sag.
    let tremor = TREMOR_RAD * (12.0 * TREMOR_PERIOD_S).sqrt() / rest.duration_s.powf(1.5);
    tremor.hypot(SAG_RAD_S)
}

/// The zero over a whole recording, every rest known.
#[derive(Debug, Clone, PartialEq)]
pub struct ZeroTrack {
    zeros: Vec<Zero>,
}

impl ZeroTrack {
    /// From the rests, by time; `None` if there is none.
    #[must_use]
    pub fn of(rests: &[Rest]) -> Option<Self> {
        let (first, later) = rests.split_first()?;
        let mut zeros = vec![Zero::first(first)];
        for rest in later {
            zeros.push(zeros.last()?.after(rest));
        }
        for place in (0..zeros.len() - 1).rev() {
            let (now, next) = (zeros[place], zeros[place + 1]);
            let predicted = now.predicted(next.time_s);
            let Some(inverse) = predicted.covariance.try_inverse() else { continue };
            let gain = now.covariance * transition(next.time_s - now.time_s).transpose() * inverse;
            zeros[place].state += gain * (next.state - predicted.state);
            zeros[place].covariance +=
                gain * (next.covariance - predicted.covariance) * gain.transpose();
        }
        Some(Self { zeros })
    }

    /// The zero at a time: value and one standard uncertainty, rad.
    #[must_use]
    pub fn at(&self, time_s: f64) -> (f64, f64) {
        let after = self.zeros.partition_point(|zero| zero.time_s < time_s);
        match (after.checked_sub(1).and_then(|place| self.zeros.get(place)), self.zeros.get(after))
        {
            (Some(before), Some(next)) => {
                // What the two say, each weighted by what it is worth there.
                let ((a, a_sd), (b, b_sd)) = (before.at(time_s), next.at(time_s));
                let (a_weight, b_weight) = (a_sd.powi(-2), b_sd.powi(-2));
                let value = (a * a_weight + b * b_weight) / (a_weight + b_weight);
                // Both rest on the same rests, so together they are hardly better than the better.
                (value, a_sd.min(b_sd))
            }
            (Some(one), None) | (None, Some(one)) => one.at(time_s),
            (None, None) => (0.0, std::f64::consts::PI),
        }
    }
}

/// Takes the jumps of a whole turn out of a heading.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwrap {
    last: Option<f64>,
}

impl Unwrap {
    /// The next heading (rad, within ±π) as continuation of the ones before.
    pub fn next(&mut self, heading_rad: f64) -> f64 {
        let turn = std::f64::consts::TAU;
        let continued = self
            .last
            .map_or(heading_rad, |last| heading_rad + ((last - heading_rad) / turn).round() * turn);
        self.last = Some(continued);
        continued
    }
}

/// A hip rotation that only the heading shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// Internal positive, rad.
    pub angle_rad: f64,
    /// One standard uncertainty, rad.
    pub sd_rad: f64,
}

/// How the limb is held at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holding {
    /// It is said to be at neutral.
    Neutral,
    /// Its angle does not go anywhere, which near zero is a rest too.
    Still,
    /// It moves.
    Moving,
}

impl Holding {
    /// Of a limb of which nothing is said, from whether its angle keeps still.
    #[must_use]
    pub const fn seen(still: bool) -> Self {
        if still { Self::Still } else { Self::Moving }
    }
}

/// Follows a heading from rest to rest as it comes.
#[derive(Debug, Clone, Default)]
pub struct Turn {
    unwrap: Unwrap,
    zero: Option<Zero>,
    resting: Vec<(f64, f64)>,
    rests: Vec<Rest>,
}

impl Turn {
    /// Takes the next heading (rad, within ±π). `None` before the first rest.
    pub fn push(&mut self, time_s: f64, heading_rad: f64, holding: Holding) -> Option<Turned> {
        let heading_rad = self.unwrap.next(heading_rad);
        let turned = self.zero.map(|zero| {
            let (zero_rad, sd_rad) = zero.at(time_s);
            Turned { angle_rad: heading_rad - zero_rad, sd_rad }
        });
        // As near as the zero is known: a stiff hip's end range must not be taken for it.
        let near = turned.is_some_and(|turned| {
            let sd_rad = turned.sd_rad.hypot(NEUTRAL_SD_RAD);
            turned.angle_rad.abs() < NEAR_NEUTRAL_RAD.max(NEAR_SDS * sd_rad)
        });
        if holding == Holding::Neutral || holding == Holding::Still && near {
            self.resting.push((time_s, heading_rad));
        } else {
            self.rest_over();
        }
        turned
    }

    /// The rests at neutral so far, by time.
    pub fn rests(&mut self) -> &[Rest] {
        self.rest_over();
        &self.rests
    }

    fn rest_over(&mut self) {
        if let Some(rest) = Rest::of(&self.resting) {
            let zero = self.zero.map_or_else(|| Zero::first(&rest), |zero| zero.after(&rest));
            self.zero = Some(zero);
            self.rests.push(rest);
        }
        self.resting.clear();
    }
}

/// So long a rest must be, s.
pub const LEAST_REST_S: f64 = 0.6;

// How well hands find neutral again (common practice: by eye within a degree).
const NEUTRAL_SD_RAD: f64 = 0.6_f64.to_radians();
// A gyroscope whose bias was never seen at rest, along the vertical.
const DRIFT_PRIOR_RAD_S: f64 = 0.7_f64.to_radians();
// Bias wander of a cheap gyroscope, and the noise that integrates (common practice).
const WANDER_RAD_S_PER_ROOT_S: f64 = 0.005_f64.to_radians();
const ANGLE_WALK_RAD_PER_ROOT_S: f64 = 0.03_f64.to_radians();
const TREMOR_RAD: f64 = 0.25_f64.to_radians();
const TREMOR_PERIOD_S: f64 = 0.17;
const SAG_RAD_S: f64 = 0.15_f64.to_radians();
// A limb that stands still this near to zero rests there.
const NEAR_NEUTRAL_RAD: f64 = 2.5_f64.to_radians();
const NEAR_SDS: f64 = 3.0;
const LEAST_DRIFT_S: f64 = 2.5;

#[cfg(test)]
mod tests {
    use super::*;

    fn rests(drift_rad_s: f64) -> Vec<Rest> {
        (0..6)
            .map(|i| {
                let time_s = 12.0 * f64::from(i);
                let heading_rad = 1.0 + drift_rad_s * time_s;
                Rest { time_s, heading_rad, drift_rad_s, duration_s: 1.5 }
            })
            .collect()
    }

    #[test]
    fn a_steady_drift_is_followed_between_rests() {
        let drift = 0.8_f64.to_radians();
        let track = ZeroTrack::of(&rests(drift)).unwrap();
        let mut live = Zero::first(&rests(drift)[0]);
        for rest in &rests(drift)[1..] {
            live = live.after(rest);
        }
        for time_s in [3.0, 17.0, 40.0, 58.0] {
            let (zero, sd) = track.at(time_s);
            assert!((zero - 1.0 - drift * time_s).abs() < 0.3_f64.to_radians(), "at {time_s} s");
            assert!(sd > 0.1_f64.to_radians() && sd < 0.8_f64.to_radians(), "{}", sd.to_degrees());
        }
        let (zero, _) = live.at(65.0);
        assert!((zero - 1.0 - drift * 65.0).abs() < 0.2_f64.to_radians());
    }

    #[test]
    fn uncertainty_grows_since_the_last_rest() {
        let zero = Zero::first(&rests(0.0)[0]);
        let sds: Vec<f64> = [1.0, 10.0, 60.0].iter().map(|&time_s| zero.at(time_s).1).collect();
        assert!(sds.is_sorted() && sds[2] > 3.0 * sds[0], "{sds:?}");
    }

    #[test]
    fn a_heading_goes_on_past_half_a_turn() {
        let mut unwrap = Unwrap::default();
        let read: Vec<f64> = [3.0, 3.1, -3.1, -3.0].map(|heading| unwrap.next(heading)).to_vec();
        assert!(read.windows(2).all(|pair| (pair[1] - pair[0]).abs() < 0.11), "{read:?}");
    }
}
