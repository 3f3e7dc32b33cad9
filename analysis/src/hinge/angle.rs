//! How far the hinge is bent.
//!
//! In the plane across the axis each sensor's vertical has an angle; their difference is the joint's
//! angle but for a constant, and does not drift. It is worth as much as the axis is away from the
//! vertical: its variance grows with `1/sin²` of the angle between the two. The gyroscopes show how
//! the angle changes, `ω₂·j₂ − ω₁·j₁`, and drift. A Kalman filter of one state joins the two, as the
//! complementary filter of Seel, Raisch & Schauer (Sensors 14:6891, 2014, section 3.3) does with a
//! fixed gain; backwards it is Rauch, Tung & Striebel's smoother (AIAA Journal 3:1445, 1965).

use std::f64::consts::{PI, TAU};

use nalgebra::Vector3;

use super::{HingeAxes, Moment};

/// The angle at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HingeAngle {
    /// When, s.
    pub time_s: f64,
    /// How far the second segment is turned about the axis, seen from the first, rad. Its zero
    /// depends on how the sensors are strapped on; it runs on beyond a half turn.
    pub angle_rad: f64,
    /// One standard uncertainty, rad.
    pub uncertainty_rad: f64,
}

/// The live filter of a hinge: causal, one moment in, one angle out.
#[derive(Debug, Clone)]
pub struct LiveHinge {
    axes: HingeAxes,
    delay_s: f64,
    state: Option<State>,
}

/// What the filter holds after a moment.
#[derive(Debug, Clone, Copy)]
struct State {
    time_s: f64,
    /// Before and after gravity was looked at.
    expected: Guess,
    found: Guess,
    joint_rate: f64,
}

/// An angle, rad, and its variance, rad².
#[derive(Debug, Clone, Copy)]
struct Guess {
    angle: f64,
    variance: f64,
}

impl LiveHinge {
    /// A filter that has seen nothing. `delay_s` is how late the sensors' readings are (their own
    /// low-pass delays them): the angle is carried forward by it at the present joint rate. 0 where
    /// it is not known.
    #[must_use]
    pub const fn new(axes: HingeAxes, delay_s: f64) -> Self {
        Self { axes, delay_s, state: None }
    }

    /// Takes the next moment. One that does not come after the one before changes nothing.
    pub fn push(&mut self, moment: &Moment) -> HingeAngle {
        let state = match self.state {
            Some(before) if moment.time_s <= before.time_s => before,
            before => step(before.as_ref(), moment, &self.axes),
        };
        self.state = Some(state);
        self.told(&state, state.found)
    }

    fn told(&self, state: &State, guess: Guess) -> HingeAngle {
        HingeAngle {
            time_s: state.time_s,
            angle_rad: guess.angle + state.joint_rate * self.delay_s,
            uncertainty_rad: guess.variance.sqrt().hypot(self.axes.uncertainty_rad),
        }
    }
}

/// The angles of a whole recording, each from all of it. `delay_s` as in [`LiveHinge::new`]. One
/// result per moment; those whose time does not advance repeat the one before.
#[must_use]
pub fn smooth(axes: &HingeAxes, delay_s: f64, moments: &[Moment]) -> Vec<HingeAngle> {
    let mut live = LiveHinge::new(*axes, delay_s);
    let states: Vec<State> = moments
        .iter()
        .filter_map(|moment| {
            live.push(moment);
            live.state
        })
        .collect();
    let mut angles = Vec::with_capacity(states.len());
    let mut after: Option<(State, Guess)> = None;
    for state in states.iter().rev() {
        let smoothed = match after {
            Some((next, _)) if next.time_s > state.time_s + LONGEST_BRIDGED_S => state.found,
            Some((next, smoothed)) if next.time_s > state.time_s => {
                let gain = state.found.variance / next.expected.variance;
                Guess {
                    angle: state.found.angle + gain * (smoothed.angle - next.expected.angle),
                    variance: state.found.variance
                        + gain * gain * (smoothed.variance - next.expected.variance),
                }
            }
            Some((_, smoothed)) => smoothed,
            None => state.found,
        };
        angles.push(live.told(state, smoothed));
        after = Some((*state, smoothed));
    }
    angles.reverse();
    angles
}

fn step(before: Option<&State>, moment: &Moment, axes: &HingeAxes) -> State {
    let [first, second] = &axes.directions;
    let joint_rate = moment.rates[1].dot(second) - moment.rates[0].dot(first);
    let gravity = by_gravity(moment, axes);
    let found = |expected: Guess, interval_s: f64| State {
        time_s: moment.time_s,
        expected,
        found: corrected(expected, gravity, interval_s),
        joint_rate,
    };
    match before {
        Some(before) if moment.time_s - before.time_s <= LONGEST_BRIDGED_S => {
            let interval_s = moment.time_s - before.time_s;
            let expected = Guess {
                angle: before.found.angle + joint_rate * interval_s,
                variance: before.found.variance + RATE_DRIFT.powi(2) * interval_s,
            };
            found(expected, interval_s)
        }
        // The beginning, or a hole over which the joint may have gone anywhere: gravity alone.
        before => {
            let last = before.map_or(gravity.angle, |before| before.found.angle);
            let angle = last + wrapped(gravity.angle - last);
            let expected = Guess { angle, variance: gravity.variance.min(PI * PI) };
            State { time_s: moment.time_s, expected, found: expected, joint_rate }
        }
    }
}

/// Takes gravity's word for as much as it is worth. Its error lasts for some time, so that one
/// sample's word is worth only its share of that time.
fn corrected(expected: Guess, gravity: Guess, interval_s: f64) -> Guess {
    let noise = gravity.variance * (GRAVITY_MEMORY_S / interval_s).max(1.0);
    let gain = expected.variance / (expected.variance + noise);
    Guess {
        angle: expected.angle + gain * wrapped(gravity.angle - expected.angle),
        variance: expected.variance * (1.0 - gain),
    }
}

/// The angle between the two verticals in the plane across the axis.
fn by_gravity(moment: &Moment, axes: &HingeAxes) -> Guess {
    let of = |side: usize| {
        let (up, axis) = (&moment.ups[side], &axes.directions[side]);
        let zero = across(axis);
        let (along, beside) = (zero.dot(up), axis.cross(&zero).dot(up));
        let sine_squared = (along * along + beside * beside).max(LEAST_SINE_SQUARED);
        (beside.atan2(along), moment.inclination_sds_rad[side].powi(2) / sine_squared)
    };
    let [first, second] = [of(0), of(1)];
    // Seen from a segment that turns one way, the vertical turns the other way.
    Guess { angle: wrapped(first.0 - second.0), variance: first.1 + second.1 }
}

/// A unit vector at right angles to a direction; always the same one.
pub(super) fn across(direction: &Vector3<f64>) -> Vector3<f64> {
    let other = if direction.x.abs() < 0.8 { Vector3::x() } else { Vector3::y() };
    direction.cross(&other).normalize()
}

/// The same angle in −π … π.
fn wrapped(angle: f64) -> f64 {
    angle - TAU * (angle / TAU).round()
}

// How far the joint rate drifts: bias that is not learnt, scale and straightness of the gyroscopes'
// axes at the rates of a hand, rad per √s.
const RATE_DRIFT: f64 = 1.5_f64.to_radians();
// The error of a filtered vertical forgets itself within about this time, s.
const GRAVITY_MEMORY_S: f64 = 1.0;
// A hole longer than this is not bridged at the rate of its end, s.
const LONGEST_BRIDGED_S: f64 = 0.5;
const LEAST_SINE_SQUARED: f64 = 1e-6;
