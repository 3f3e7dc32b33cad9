//! Samples integrated to the nearly inertial frame, with what is missing between them.

use endarc_protocol::sample::Sample;
use nalgebra::{UnitQuaternion, Vector3};

use super::bias::{Bias, Lesson};
use super::block::{Block, Blocks};
use super::fault::{Fault, Faults};
use super::gap::Gap;
use super::rest::Rest;
use super::strapdown::Strapdown;

/// Samples integrated to a nearly inertial frame; shared by the live filter and the smoother.
#[derive(Debug, Clone, Default)]
pub(super) struct Inertial {
    strapdown: Strapdown,
    bias: Bias,
    blocks: Blocks,
    rest: Rest,
    rested_at_s: Option<f64>,
    lost: Lost,
    faults: Faults,
    previous: Option<Previous>,
}

/// What missing and clipped samples had cost, and when it was last reckoned.
#[derive(Debug, Clone, Copy, Default)]
struct Lost {
    sd_rad: f64,
    at_s: f64,
}

#[derive(Debug, Clone, Copy)]
struct Previous {
    time_s: f64,
    rate: Vector3<f64>,
    change: Vector3<f64>,
    spacing_s: Option<f64>,
}

/// One sample brought into the nearly inertial frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moved {
    /// Specific force there, m/s².
    pub(super) force: Vector3<f64>,
    /// Over how long it was felt, s: the time since the sample before, where none is missing.
    pub(super) interval_s: f64,
    /// What missing or clipped samples may have cost lately, rad; 0 when this step lost nothing.
    pub(super) lost_sd_rad: f64,
    /// Whether it completes a block of samples.
    pub(super) completes_block: bool,
}

impl Inertial {
    /// Integrates a sample; or says why it is rejected.
    #[inline]
    pub(super) fn advance(&mut self, sample: &Sample) -> Result<Moved, Fault> {
        let force = Vector3::from(sample.accel_m_s2);
        let measured = Vector3::from(sample.gyro_rad_s);
        let square = force.norm_squared();
        // False for what is not a number, too.
        let within = square + measured.norm_squared() < LARGEST_SQUARE && sample.time_s.is_finite();
        if !within {
            return Err(self.fault(Fault::NotFinite));
        }
        if square < LEAST_FORCE_M_S2 * LEAST_FORCE_M_S2 {
            return Err(self.fault(Fault::NoForce));
        }
        let rate = self.bias.corrected(&measured);
        let Some(previous) = &self.previous else {
            return Ok(self.begin(sample.time_s, &force, &rate));
        };
        let interval_s = sample.time_s - previous.time_s;
        if interval_s <= 0.0 || !interval_s.is_finite() {
            return Err(self.fault(Fault::NotAfter));
        }
        let spacing_s = previous.spacing_s.unwrap_or(interval_s);
        if interval_s > GAP_FACTOR * spacing_s {
            return Ok(self.advance_over_gap(sample, &force, &rate));
        }
        self.previous = Some(Previous {
            time_s: sample.time_s,
            rate,
            change: rate - previous.rate,
            spacing_s: Some(spacing_s + (interval_s - spacing_s) * SPACING_SHARE),
        });
        let step = self.strapdown.advance(&rate, interval_s);
        let force_here = step.felt(&force);
        let (lost_sd_rad, completes_block) = if sample.flags.gyro_saturated {
            (self.clipped(sample, rate.norm() * interval_s), false)
        } else {
            (0.0, self.blocks.push(&measured, &force, interval_s))
        };
        Ok(Moved { force: force_here, interval_s, lost_sd_rad, completes_block })
    }

    /// Takes the first sample.
    #[cold]
    fn begin(&mut self, time_s: f64, force: &Vector3<f64>, rate: &Vector3<f64>) -> Moved {
        let (rate, change) = (*rate, Vector3::zeros());
        self.previous = Some(Previous { time_s, rate, change, spacing_s: None });
        Moved {
            force: self.strapdown.attitude() * force,
            interval_s: FIRST_INTERVAL_S,
            lost_sd_rad: 0.0,
            completes_block: false,
        }
    }

    /// Turns over what is missing first, then over the sample's own interval.
    #[cold]
    fn advance_over_gap(
        &mut self,
        sample: &Sample,
        force: &Vector3<f64>,
        rate: &Vector3<f64>,
    ) -> Moved {
        let Some(previous) = self.previous else {
            return self.begin(sample.time_s, force, rate);
        };
        let spacing_s = previous.spacing_s.unwrap_or(FIRST_INTERVAL_S);
        let missing_s = sample.time_s - previous.time_s - spacing_s;
        // What happened in a hole is no proof of rest.
        self.rest = Rest::default();
        self.blocks.forget();
        let lost_sd_rad = if missing_s > LONGEST_BRIDGED_S {
            // Nobody knows what happened: the attitude is taken up where it was left, and gravity
            // has to be found anew.
            self.faults.add(Fault::LongGap);
            std::f64::consts::PI
        } else {
            self.faults.add(Fault::Gap);
            let gap = Gap { missing_s, spacing_s, before: previous.rate, after: *rate };
            self.strapdown.break_coning();
            self.strapdown.advance(&gap.mean_rate(&previous.change), missing_s);
            gap.lost_sd_rad()
        };
        let lost_sd_rad = self.lost(lost_sd_rad, sample);
        self.strapdown.break_coning();
        let step = self.strapdown.advance(rate, spacing_s);
        self.previous = Some(Previous {
            time_s: sample.time_s,
            rate: *rate,
            change: Vector3::zeros(),
            spacing_s: previous.spacing_s,
        });
        let force = step.felt(force);
        Moved { force, interval_s: spacing_s, lost_sd_rad, completes_block: false }
    }

    /// A reading at the end of the range: what it may have cost, rad.
    #[cold]
    fn clipped(&mut self, sample: &Sample, turn_rad: f64) -> f64 {
        self.faults.add(Fault::Clipped);
        self.rest = Rest::default();
        self.blocks.forget();
        self.lost(SATURATED_SHARE * turn_rad, sample)
    }

    /// An integrator that starts with what another has learnt of the bias. It takes scale and axes as
    /// they come: a filter that runs both ways has little use for them.
    pub(super) fn with_bias(bias: Bias) -> Self {
        Self { bias: bias.rate_only(), ..Self::default() }
    }

    #[cold]
    fn fault(&mut self, fault: Fault) -> Fault {
        self.faults.add(fault);
        fault
    }

    /// What was wrong with samples so far.
    pub(super) const fn faults(&self) -> &Faults {
        &self.faults
    }

    /// What clipping takes goes one way and adds up; what gaps take does not. Gravity makes up for
    /// both with time.
    #[cold]
    fn lost(&mut self, now_rad: f64, sample: &Sample) -> f64 {
        let Lost { sd_rad, at_s } = self.lost;
        let before = sd_rad * (1.0 - (sample.time_s - at_s) / FORGIVEN_S).max(0.0);
        let sd_rad =
            if sample.flags.gyro_saturated { before + now_rad } else { before.hypot(now_rad) };
        self.lost = Lost { sd_rad, at_s: sample.time_s };
        sd_rad
    }

    /// The block of samples that was completed last.
    pub(super) const fn block(&self) -> &Block {
        self.blocks.complete()
    }

    /// The attitude after the last accepted sample.
    pub(super) const fn attitude(&self) -> &UnitQuaternion<f64> {
        self.strapdown.attitude()
    }

    /// Turns the frame that is integrated in.
    pub(super) fn turn_frame(&mut self, turn: &UnitQuaternion<f64>) {
        self.strapdown.turn_frame(turn);
    }

    /// Learns the bias from the block that was completed last if it completes a stretch of proven
    /// rest; returns what was learnt.
    /// To be called once a block.
    pub(super) fn learn_rest(&mut self) -> Option<Lesson> {
        let block = self.blocks.complete();
        self.bias.elapse(block.interval_s);
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

// The first sample has no interval; any small one makes it the first of the mean.
const FIRST_INTERVAL_S: f64 = 0.01;
// Below this there is no direction in the specific force.
const LEAST_FORCE_M_S2: f64 = 0.01;
// Larger than any sensor reads: a hundred times 16 g, and as many rad/s.
const LARGEST_SQUARE: f64 = 2.5e8;
// An interval this much longer than the usual spacing holds missing samples.
const GAP_FACTOR: f64 = 1.6;
// A longer hole is not bridged by a straight line, s.
const LONGEST_BRIDGED_S: f64 = 0.4;
const SPACING_SHARE: f64 = 0.05;
// Losses are made up for within about this time, s.
const FORGIVEN_S: f64 = 3.0;
// A reading at the end of the range: the true rate may be that much larger.
const SATURATED_SHARE: f64 = 0.5;
