//! A second-order low-pass of vectors, with a time constant that may change at each step.

use nalgebra::SMatrix;

/// How the low-pass settles: a little less damped than Butterworth's 0.707 follows a drifting
/// gravity better at the same noise.
pub const LIVE_DAMPING: f64 = 0.65;

/// Butterworth's damping, for the low-pass that runs both ways.
pub const BUTTERWORTH_DAMPING: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// State of the low-pass `y″ + 2ζω·y′ + ω²·y = ω²·x` with `ω = √2/τ`, stepped by the semi-implicit
/// Euler rule. That is stable while ω times the step stays under some 3.8; a young filter is a plain
/// mean and a long pause counts as a short one, so it stays under 0.8 here.
#[derive(Debug, Clone)]
pub struct LowPass<const COLUMNS: usize = 1> {
    damping: f64,
    age_s: f64,
    value: SMatrix<f64, 3, COLUMNS>,
    slope: SMatrix<f64, 3, COLUMNS>,
}

impl<const COLUMNS: usize> LowPass<COLUMNS> {
    /// A low-pass that has seen nothing.
    #[must_use]
    pub fn new(damping: f64) -> Self {
        Self { damping, age_s: 0.0, value: SMatrix::zeros(), slope: SMatrix::zeros() }
    }

    /// The filtered vectors, side by side.
    #[must_use]
    pub const fn value(&self) -> &SMatrix<f64, 3, COLUMNS> {
        &self.value
    }

    /// For how long it has averaged, s; a young filter averages over no more than its age.
    #[must_use]
    pub const fn age_s(&self) -> f64 {
        self.age_s
    }

    /// Makes the filter trust what it holds no more than one of this age would.
    pub fn rejuvenate(&mut self, age_s: f64) {
        if age_s < self.age_s {
            self.age_s = age_s;
            self.slope = SMatrix::zeros();
        }
    }

    /// How fast they change, per second, side by side.
    #[must_use]
    pub const fn slope(&self) -> &SMatrix<f64, 3, COLUMNS> {
        &self.slope
    }

    /// What is filtered has not moved by itself, but drifted, and no longer does: takes out how far the
    /// filter lags behind the drift, and how fast it follows it.
    pub fn drift_ended(
        &mut self,
        lag: &SMatrix<f64, 3, COLUMNS>,
        slope: &SMatrix<f64, 3, COLUMNS>,
    ) {
        self.value += lag;
        self.slope -= slope;
    }

    /// Takes `input` held over `interval_s` and returns what was left over: input minus the value
    /// before it. `time_constant_s` is τ.
    #[inline]
    pub fn step(
        &mut self,
        input: &SMatrix<f64, 3, COLUMNS>,
        interval_s: f64,
        time_constant_s: f64,
    ) -> SMatrix<f64, 3, COLUMNS> {
        self.age_s += interval_s;
        let rest = input - self.value;
        if self.age_s < PLAIN_MEAN_S {
            self.value += rest * (interval_s / self.age_s).min(1.0);
            return rest;
        }
        let omega = std::f64::consts::SQRT_2 / time_constant_s.min(self.age_s);
        let step = omega * interval_s;
        self.slope = (self.slope + rest * (omega * step)) / (1.0 + 2.0 * self.damping * step);
        self.value += self.slope * interval_s;
        rest
    }
}

/// So long a young filter is a plain mean.
const PLAIN_MEAN_S: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Vector3;

    #[test]
    fn settles_on_a_constant_from_the_first_sample() {
        let mut filter = LowPass::new(LIVE_DAMPING);
        for _ in 0..300 {
            filter.step(&Vector3::new(1.0, 2.0, 3.0), 0.01, 3.0);
            assert!((filter.value() - Vector3::new(1.0, 2.0, 3.0)).norm() < 1e-12);
        }
    }

    #[test]
    fn a_drift_that_ends_leaves_no_lag() {
        let mut filter = LowPass::new(LIVE_DAMPING);
        let drift = Vector3::new(0.1, -0.2, 0.0);
        let mut moved = Vector3::zeros();
        for _ in 0..250 {
            moved += drift * 0.01;
            filter.step(&moved, 0.01, 3.0);
        }
        let (lag, slope) = (moved - filter.value(), *filter.slope());
        assert!(lag.norm() > 0.1);
        filter.drift_ended(&lag, &slope);
        for _ in 0..500 {
            filter.step(&moved, 0.01, 3.0);
            assert!((filter.value() - moved).norm() < 1e-12);
        }
    }

    /// A Butterworth low-pass has half its power at its corner, here 1/(2π)·√2/τ.
    #[test]
    fn corner_has_half_the_power() {
        let (tau, interval) = (1.0, 0.001);
        let omega = std::f64::consts::SQRT_2 / tau;
        let mut filter = LowPass::new(BUTTERWORTH_DAMPING);
        let mut largest: f64 = 0.0;
        for i in 0..60_000 {
            let time = f64::from(i) * interval;
            filter.step(&Vector3::new((omega * time).sin(), 0.0, 0.0), interval, tau);
            if time > 40.0 {
                largest = largest.max(filter.value().x.abs());
            }
        }
        assert!((largest - std::f64::consts::FRAC_1_SQRT_2).abs() < 0.01, "{largest}");
    }
}
