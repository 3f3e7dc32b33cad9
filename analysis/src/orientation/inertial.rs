//! Samples integrated to the nearly inertial frame, with what is missing between them.

use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

use super::bias::Bias;
use super::block::{Block, Blocks};
use super::rest::Rest;
use super::strapdown::{Step, Strapdown};

/// Samples integrated to a nearly inertial frame; shared by the live filter and the smoother.
#[derive(Debug, Clone, Default)]
pub(super) struct Inertial {
    strapdown: Strapdown,
    bias: Bias,
    blocks: Blocks,
    rest: Rest,
    rested_at_s: Option<f64>,
    lost_rad: f64,
    previous: Option<Previous>,
}

#[derive(Debug, Clone, Copy)]
struct Previous {
    time_s: f64,
    rate: Vector3<f64>,
    spacing_s: Option<f64>,
}

/// One sample brought into the nearly inertial frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moved {
    /// Specific force there, m/s².
    pub(super) force: Vector3<f64>,
    /// The step of the integration.
    pub(super) step: Step,
    /// Time since the sample before, s.
    pub(super) interval_s: f64,
    /// What missing or clipped samples may have cost lately, rad; 0 when this step lost nothing.
    pub(super) lost_sd_rad: f64,
    /// The block of samples that this one completes.
    pub(super) block: Option<Block>,
}

impl Inertial {
    /// Integrates a sample; `None` if it is rejected.
    pub(super) fn advance(&mut self, sample: &Sample) -> Option<Moved> {
        let force = Vector3::from(sample.accel_m_s2);
        let measured = Vector3::from(sample.gyro_rad_s);
        if !sample.is_finite() || force.norm_squared() < LEAST_FORCE_M_S2 * LEAST_FORCE_M_S2 {
            return None;
        }
        let rate = measured - self.bias.rate();
        let Some(previous) = self.previous else {
            self.previous = Some(Previous { time_s: sample.time_s, rate, spacing_s: None });
            let step = Step::still(*self.strapdown.attitude());
            return Some(Moved {
                force,
                step,
                interval_s: FIRST_INTERVAL_S,
                lost_sd_rad: 0.0,
                block: None,
            });
        };
        let interval_s = sample.time_s - previous.time_s;
        if interval_s <= 0.0 || !interval_s.is_finite() {
            return None;
        }
        self.bias.elapse(interval_s);
        let missing_s = missing_s(interval_s, previous.spacing_s);
        let mut lost_sd_rad = 0.0;
        let mut turn_rate = rate;
        if missing_s > 0.0 {
            // A straight line across the gap, and what the rate may have done instead.
            turn_rate = rate + (previous.rate - rate) * (0.5 * missing_s / interval_s);
            lost_sd_rad = missing_s
                * (LOST_RATE_SHARE * (rate - previous.rate).norm()
                    + LOST_CURVE_SHARE * rate.norm().max(previous.rate.norm())
                    + LOST_FLOOR_RAD_S);
            self.strapdown.break_coning();
        }
        if sample.flags.gyro_saturated {
            lost_sd_rad += SATURATED_SHARE * rate.norm() * interval_s;
        }
        if missing_s > LONGEST_BRIDGED_S {
            // Nobody knows what happened: the attitude is taken up where it was left, and gravity
            // has to be found anew.
            (turn_rate, lost_sd_rad) = (Vector3::zeros(), std::f64::consts::PI);
        }
        let step = self.strapdown.advance(&turn_rate, interval_s);
        // What clipping takes goes one way and adds up; what gaps take does not. Gravity makes up for
        // both with time.
        let before = self.lost_rad * (1.0 - interval_s / FORGIVEN_S).max(0.0);
        self.lost_rad = if sample.flags.gyro_saturated {
            before + lost_sd_rad
        } else {
            before.hypot(lost_sd_rad)
        };
        let lost_sd_rad = if lost_sd_rad > 0.0 { self.lost_rad } else { 0.0 };
        let block = if missing_s > 0.0 || sample.flags.gyro_saturated {
            // What happened in a hole is no proof of rest.
            self.rest = Rest::default();
            self.blocks.forget();
            None
        } else {
            self.blocks.push(&measured, &force, interval_s)
        };
        let spacing_s = match previous.spacing_s {
            Some(spacing_s) if missing_s > 0.0 => spacing_s,
            Some(spacing_s) => spacing_s + (interval_s - spacing_s) * SPACING_SHARE,
            None => interval_s,
        };
        self.previous = Some(Previous { time_s: sample.time_s, rate, spacing_s: Some(spacing_s) });
        Some(Moved { force: step.felt(&force), step, interval_s, lost_sd_rad, block })
    }

    /// An integrator that starts with what another has learnt of the bias.
    pub(super) fn with_bias(bias: Bias) -> Self {
        Self { bias, ..Self::default() }
    }

    /// Learns the bias from a block of samples if it completes a stretch of proven rest; returns how
    /// far the bias moved.
    pub(super) fn learn_rest(&mut self, block: &Block) -> Option<Vector3<f64>> {
        let (mean, interval_s) = self.rest.step(block, &self.bias)?;
        self.rested_at_s = self.previous.map(|previous| previous.time_s);
        Some(self.bias.learn_rest(&mean, interval_s))
    }

    /// The time of the sample that last proved rest, s.
    pub(super) const fn rested_at_s(&self) -> Option<f64> {
        self.rested_at_s
    }

    /// The bias, to be taught.
    pub(super) const fn bias_mut(&mut self) -> &mut Bias {
        &mut self.bias
    }

    /// What has been learnt of the bias.
    pub(super) const fn bias(&self) -> &Bias {
        &self.bias
    }
}

/// How much of an interval is missing samples, s.
fn missing_s(interval_s: f64, spacing_s: Option<f64>) -> f64 {
    spacing_s.map_or(0.0, |spacing_s| {
        if interval_s > GAP_FACTOR * spacing_s { interval_s - spacing_s } else { 0.0 }
    })
}

// The first sample has no interval; any small one makes it the first of the mean.
const FIRST_INTERVAL_S: f64 = 0.01;
// Below this there is no direction in the specific force.
const LEAST_FORCE_M_S2: f64 = 0.01;
// An interval this much longer than the usual spacing holds missing samples.
const GAP_FACTOR: f64 = 1.6;
// A longer hole is not bridged by a straight line, s.
const LONGEST_BRIDGED_S: f64 = 0.5;
const SPACING_SHARE: f64 = 0.05;
// What a gap may have cost, by the change of rate over it and by the rate itself, as shares.
const LOST_RATE_SHARE: f64 = 0.15;
const LOST_CURVE_SHARE: f64 = 0.05;
const LOST_FLOOR_RAD_S: f64 = 0.2_f64.to_radians();
// Losses are made up for within about this time, s.
const FORGIVEN_S: f64 = 3.0;
// A reading at the end of the range: the true rate may be that much larger.
const SATURATED_SHARE: f64 = 0.5;
