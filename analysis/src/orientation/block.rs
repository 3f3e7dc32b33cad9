//! An eighth of a second of samples in a few numbers: what bias and rest are judged by.

use nalgebra::Vector3;

/// Means and spreads of consecutive samples.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Block {
    /// How long it is, s.
    pub(super) interval_s: f64,
    /// Mean angular rate as measured, rad/s.
    pub(super) rate: Vector3<f64>,
    /// Mean specific force as measured, m/s².
    pub(super) force: Vector3<f64>,
    /// Variance of the rate about its mean, summed over the axes, (rad/s)².
    pub(super) rate_variance: f64,
    /// Variance of the specific force about its mean, summed over the axes, (m/s²)².
    pub(super) force_variance: f64,
}

/// Adds samples up to blocks.
#[derive(Debug, Clone, Default)]
pub(super) struct Blocks {
    count: f64,
    interval_s: f64,
    rate: Vector3<f64>,
    force: Vector3<f64>,
    rate_square: f64,
    force_square: f64,
    complete: Block,
}

impl Blocks {
    /// Takes a sample; returns whether it completes a block.
    #[inline]
    pub(super) fn push(
        &mut self,
        rate: &Vector3<f64>,
        force: &Vector3<f64>,
        interval_s: f64,
    ) -> bool {
        self.count += 1.0;
        self.interval_s += interval_s;
        self.rate += rate;
        self.force += force;
        self.rate_square += rate.norm_squared();
        self.force_square += force.norm_squared();
        let complete = self.interval_s >= BLOCK_S;
        if complete {
            self.close();
        }
        complete
    }

    /// The block that was completed last.
    pub(super) const fn complete(&self) -> &Block {
        &self.complete
    }

    /// Forgets what has been added up: the next sample is no neighbour of it.
    pub(super) fn forget(&mut self) {
        *self = Self { complete: self.complete, ..Self::default() };
    }

    #[inline(never)]
    fn close(&mut self) {
        let share = 1.0 / self.count;
        let (rate, force) = (self.rate * share, self.force * share);
        self.complete = Block {
            interval_s: self.interval_s,
            rate,
            force,
            rate_variance: self.rate_square * share - rate.norm_squared(),
            force_variance: self.force_square * share - force.norm_squared(),
        };
        self.forget();
    }
}

/// Length of a block, s: some samples of the slowest sensor, and short beside any stillness.
const BLOCK_S: f64 = 0.125;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_and_spread_are_those_of_the_samples() {
        let mut blocks = Blocks::default();
        for i in 0..13 {
            let swing = if i % 2 == 0 { 0.1 } else { -0.1 };
            let done = blocks.push(&Vector3::new(1.0, 2.0 + swing, 3.0), &Vector3::z(), 0.01);
            assert_eq!(done, i == 12);
        }
        let block = blocks.complete();
        let mean = 0.1 / 13.0;
        assert!((block.interval_s - 0.13).abs() < 1e-12);
        assert!((block.rate - Vector3::new(1.0, 2.0 + mean, 3.0)).norm() < 1e-12);
        assert!((block.rate_variance - (0.01 - mean * mean)).abs() < 1e-12);
        assert!(block.force_variance.abs() < 1e-12);
    }
}
