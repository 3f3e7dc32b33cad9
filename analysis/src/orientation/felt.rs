//! Specific force, added up between two steps of the gravity low-pass.

use nalgebra::Vector3;

/// Sums over the samples since the last step, weighed by their intervals.
#[derive(Debug, Clone, Default)]
pub(super) struct Felt {
    interval_s: f64,
    sum: Vector3<f64>,
    square: f64,
}

impl Felt {
    /// Takes a sample's specific force, m/s² in a frame that does not turn meanwhile.
    #[inline]
    pub(super) fn push(&mut self, force: &Vector3<f64>, interval_s: f64) {
        self.interval_s += interval_s;
        self.sum += force * interval_s;
        self.square += force.norm_squared() * interval_s;
    }

    /// For how long it has added up, s.
    #[inline]
    pub(super) const fn interval_s(&self) -> f64 {
        self.interval_s
    }

    /// What was felt on average; starts anew.
    pub(super) fn take(&mut self) -> Option<Mean> {
        let Self { interval_s, sum, square } = std::mem::take(self);
        (interval_s > 0.0).then(|| Mean {
            interval_s,
            force: sum / interval_s,
            force_square: square / interval_s,
        })
    }
}

/// What was felt on average.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mean {
    /// Over so long, s.
    pub(super) interval_s: f64,
    /// Mean specific force, m/s².
    pub(super) force: Vector3<f64>,
    /// Mean square of the specific force, (m/s²)².
    pub(super) force_square: f64,
}

impl Mean {
    /// Mean squared distance from `gravity` (m/s², in the same frame), (m/s²)².
    pub(super) fn residual_square(&self, gravity: &Vector3<f64>) -> f64 {
        let square = self.force_square - 2.0 * self.force.dot(gravity) + gravity.norm_squared();
        // Rounding may leave it a little below zero.
        square.max(0.0)
    }
}
