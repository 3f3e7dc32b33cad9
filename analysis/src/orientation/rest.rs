//! Proof that a sensor is at rest, so that its mean rate is its bias.

use nalgebra::Vector3;

use super::bias::Bias;
use super::block::Block;

/// Watches blocks of samples for rest: rate and specific force keep still, gravity has not crept
/// since the stillness began, and the rate is one that a bias could have.
#[derive(Debug, Clone, Default)]
pub(super) struct Rest {
    still_s: f64,
    anchor: Mean,
    lesson: Mean,
    /// The newest still block. It counts once the next one is still too: a movement begins in it.
    newest: Option<Block>,
}

/// A mean of blocks, by their length.
#[derive(Debug, Clone, Copy, Default)]
struct Mean {
    interval_s: f64,
    rate: Vector3<f64>,
    force: Vector3<f64>,
}

impl Mean {
    fn add(&mut self, block: &Block) {
        self.interval_s += block.interval_s;
        let share = block.interval_s / self.interval_s;
        self.rate += (block.rate - self.rate) * share;
        self.force += (block.force - self.force) * share;
    }
}

impl Rest {
    /// Takes the next block. Returns mean rate (rad/s) and length (s) of a stretch of proven rest,
    /// each stretch once, with the stillness that proved it.
    pub(super) fn step(&mut self, block: &Block, bias: &Bias) -> Option<(Vector3<f64>, f64)> {
        if !is_still(block) || !bias.plausible(&block.rate) {
            *self = Self::default();
            return None;
        }
        if self.still_s > 0.0 && self.has_left(block) {
            *self = Self::default();
        }
        if let Some(before) = self.newest.replace(*block) {
            self.lesson.add(&before);
        }
        if self.anchor.interval_s < ANCHOR_S {
            self.anchor.add(block);
        }
        self.still_s += block.interval_s;
        let proof_s = if bias.rested() { PROOF_S } else { FIRST_PROOF_S };
        let proven = self.still_s > proof_s && self.lesson.interval_s > LESSON_S.min(proof_s - 0.2);
        proven.then(|| {
            let Mean { rate, interval_s, .. } = std::mem::take(&mut self.lesson);
            (rate, interval_s)
        })
    }

    /// Whether the sensor is no longer as it was when the stillness began.
    fn has_left(&self, block: &Block) -> bool {
        (block.force - self.anchor.force).norm_squared() > CREEP_M_S2 * CREEP_M_S2
            || (block.rate - self.anchor.rate).norm_squared() > CHANGE_RAD_S * CHANGE_RAD_S
    }
}

fn is_still(block: &Block) -> bool {
    block.rate_variance < RATE_SPREAD_RAD_S * RATE_SPREAD_RAD_S
        && block.force_variance < FORCE_SPREAD_M_S2 * FORCE_SPREAD_M_S2
}

// So long everything must have kept still before rest counts as proven; the first time, while
// nothing is known of the bias, sooner, s.
const PROOF_S: f64 = 1.0;
const FIRST_PROOF_S: f64 = 0.75;
// So much proven rest is one lesson, s.
const LESSON_S: f64 = 1.0;
// What the beginning of a stillness was is averaged over this, s.
const ANCHOR_S: f64 = 0.5;
// Spread within a block, all axes together: noise and the table's trembling, not a held limb's.
const RATE_SPREAD_RAD_S: f64 = 1.2_f64.to_radians();
const FORCE_SPREAD_M_S2: f64 = 0.3;
// Gravity creeping by more than a third of a degree since the stillness began is a movement.
const CREEP_M_S2: f64 = 0.06;
// So much a resting rate may differ from what it was when the stillness began, rad/s.
const CHANGE_RAD_S: f64 = 0.5_f64.to_radians();
