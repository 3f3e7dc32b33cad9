//! The live filter: causal, one sample in, one orientation out, no allocation.

use std::f64::consts::FRAC_PI_2;

use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

use super::Orientation;
use super::bias::{Bias, BiasState, Lesson, STATES, Turns};
use super::fault::Faults;
use super::felt::Felt;
use super::inertial::Inertial;
use super::leveller::Leveller;
use super::lowpass::{LIVE_DAMPING, LowPass};
use super::noise::{FLOOR_RAD, LONGEST_STEP_S, mean_noise_rad, trusted_age_s};
use super::pace::Pace;
use super::strapdown::turned_by;

/// The live orientation filter of one sensor.
#[derive(Debug, Clone)]
pub struct LiveFilter {
    motion: Inertial,
    gravity: LowPass,
    /// How far gravity has been turned since the start, per state of the bias.
    turned: Turns,
    /// The same filtered as gravity is: how far its filtered value has been turned.
    followed: LowPass<STATES>,
    leveller: Leveller,
    window: Window,
    residual_square: f64,
    pace: Pace,
    felt: Felt,
    /// Changes slowly: worked out once a block, for a young filter at each sample.
    sd_rad: f64,
}

impl Default for LiveFilter {
    fn default() -> Self {
        Self::new()
    }
}

impl LiveFilter {
    /// A filter that has seen nothing.
    #[must_use]
    pub fn new() -> Self {
        Self {
            motion: Inertial::default(),
            gravity: LowPass::new(LIVE_DAMPING),
            turned: Turns::zeros(),
            followed: LowPass::new(LIVE_DAMPING),
            leveller: Leveller::default(),
            window: Window::default(),
            residual_square: 0.0,
            pace: Pace::default(),
            felt: Felt::default(),
            sd_rad: FRAC_PI_2,
        }
    }

    /// What the filter learnt of the gyroscope's bias.
    #[must_use]
    pub const fn bias(&self) -> &Bias {
        self.motion.bias()
    }

    /// The bias with its uncertainty, and when rest last showed it.
    #[must_use]
    pub fn bias_state(&self) -> BiasState {
        BiasState {
            bias_rad_s: (*self.bias().rate()).into(),
            sd_rad_s: self.bias().component_sd_rad_s().into(),
            learnt_at_s: self.motion.rested_at_s(),
        }
    }

    /// What was wrong with the samples so far, and what was done about it.
    #[must_use]
    pub const fn faults(&self) -> &Faults {
        self.motion.faults()
    }

    /// Whether the inclination is known to a degree: within half a second of stillness from the
    /// start. A long gap unsettles it again.
    #[must_use]
    pub const fn settled(&self) -> bool {
        self.sd_rad < SETTLED_SD_RAD
    }

    /// Takes the next sample. One that is not finite, has no specific force, or does not come after
    /// the one before is rejected: the state is untouched and the last orientation is repeated.
    pub fn push(&mut self, sample: &Sample) -> Orientation {
        let Ok(moved) = self.motion.advance(sample) else {
            return Orientation { accepted: false, ..self.orientation() };
        };
        if moved.lost_sd_rad > 0.0 {
            self.distrust(moved.lost_sd_rad);
        }
        self.felt.push(&moved.force, moved.interval_s.min(LONGEST_STEP_S));
        if moved.completes_block {
            self.follow();
            self.learn();
        } else if self.gravity.age_s() < YOUNG_S || self.felt.interval_s() > LONGEST_STEP_S {
            self.follow();
        }
        self.orientation()
    }

    #[inline]
    fn orientation(&self) -> Orientation {
        Orientation::from_parts(self.motion.attitude(), self.sd_rad)
    }

    /// Steps the low-pass of gravity with what was felt since its last step.
    #[inline(never)]
    fn follow(&mut self) {
        let Some(mean) = self.felt.take() else { return };
        let to_inertial = self.leveller.to_inertial();
        let force = to_inertial * mean.force;
        if self.gravity.age_s() > 0.0 {
            let gravity = self.leveller.to_earth() * self.gravity.value();
            self.residual_square += (mean.residual_square(&gravity) - self.residual_square)
                * (mean.interval_s / RESIDUAL_S).min(1.0);
        }
        self.gravity.step(&force, mean.interval_s, self.pace.time_constant_s());
        self.level();
        self.sd_rad = self.inclination_sd();
    }

    /// Turns the frame that is integrated in, which is the earth's, so that gravity stands upright.
    fn level(&mut self) {
        let turn = self.leveller.level(self.gravity.value());
        self.motion.turn_frame(&turn);
    }

    /// Trusts the attitude no more than what was lost allows.
    #[cold]
    fn distrust(&mut self, lost_sd_rad: f64) {
        self.follow();
        let age_s = trusted_age_s(lost_sd_rad, self.residual_sd());
        self.gravity.rejuvenate(age_s);
        self.followed.rejuvenate(age_s);
        self.window = Window::from(self.gravity.value(), self.followed.value());
    }

    fn residual_sd(&self) -> f64 {
        self.residual_square.sqrt()
    }

    /// What remains of the limb's own accelerations after the low-pass, what the bias still turns
    /// within its lag, and the floor that no filter takes out.
    fn inclination_sd(&self) -> f64 {
        let age_s = self.age_s();
        let force = mean_noise_rad(self.residual_sd(), age_s);
        let drift = self.motion.bias().sd_rad_s() * age_s * 0.5;
        (FLOOR_RAD.powi(2) + force.powi(2) + drift.powi(2)).sqrt()
    }

    /// Over how long gravity is averaged, s.
    fn age_s(&self) -> f64 {
        self.gravity.age_s().clamp(0.01, self.pace.time_constant_s())
    }

    /// Learns from proven rest or, once a second, from gravity.
    #[inline(never)]
    fn learn(&mut self) {
        let block = *self.motion.block();
        let rate_square = block.rate.norm_squared() + block.rate_variance;
        self.pace.step(rate_square, self.residual_sd(), block.interval_s);
        // Halfway through the block.
        let rate = self.motion.bias().corrected(&block.rate);
        let turn = rate * (-0.5 * block.interval_s);
        let attitude = self.leveller.to_inertial() * self.motion.attitude() * turned_by(&turn);
        let turns = Bias::turns(attitude.to_rotation_matrix().matrix(), &rate);
        self.turned += turns * block.interval_s;
        self.followed.step(&self.turned, block.interval_s, self.pace.time_constant_s());
        self.window.elapsed_s += block.interval_s;
        let rested = self.motion.learn_rest();
        if rested.is_some() || self.window.elapsed_s >= WINDOW_S {
            self.close_window(rested);
        }
    }

    /// Learns what rest has shown or else what the window shows, and opens the next.
    fn close_window(&mut self, rested: Option<Lesson>) {
        let learnt = rested.or_else(|| self.learn_gravity());
        if let Some(lesson) = learnt {
            let gravity = *self.gravity.value();
            let lag = (self.turned - self.followed.value()) * lesson;
            let slope = self.followed.slope() * lesson;
            self.gravity.drift_ended(&lag.cross(&gravity), &slope.cross(&gravity));
            self.level();
        }
        self.window = Window::from(self.gravity.value(), self.followed.value());
    }

    /// Learns from how gravity turned since the window was opened.
    fn learn_gravity(&mut self) -> Option<Lesson> {
        let Window { elapsed_s, gravity: before, turned } = self.window;
        if before == Vector3::zeros() || self.gravity.age_s() <= SETTLED_S {
            return None;
        }
        let gravity = self.gravity.value().normalize();
        let turn = before.cross(&gravity) / elapsed_s;
        let turns = (self.followed.value() - turned) / elapsed_s;
        let sd = 2.0 * mean_noise_rad(self.residual_sd(), self.age_s()) / elapsed_s;
        let sd = sd.max(LEAST_GRAVITY_RATE_NOISE);
        Some(self.motion.bias_mut().learn_gravity(&turn, &turns, &gravity, sd))
    }
}

/// Where gravity stood in the integrated frame when this window began, and how far it had been turned.
#[derive(Debug, Clone, Copy, Default)]
struct Window {
    elapsed_s: f64,
    gravity: Vector3<f64>,
    turned: Turns,
}

impl Window {
    /// One that opens now, with gravity of any length.
    fn from(gravity: &Vector3<f64>, turned: &Turns) -> Self {
        Self { elapsed_s: 0.0, gravity: gravity.normalize(), turned: *turned }
    }
}

const RESIDUAL_S: f64 = 1.0;
const WINDOW_S: f64 = 1.0;
// A younger filter learns much with each sample, s.
const YOUNG_S: f64 = 1.0;
// Known to a degree: enough to say which way the limb stands.
const SETTLED_SD_RAD: f64 = 1.0_f64.to_radians();
// Gravity is followed well enough to show bias at this age, s.
const SETTLED_S: f64 = 1.0;
const LEAST_GRAVITY_RATE_NOISE: f64 = 0.3_f64.to_radians();
