//! A quantity in time with its first and second derivative, differentiated exactly.

use std::ops::{Add, Mul};

/// Value, rate and acceleration of one quantity at one instant.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Jet {
    /// The value.
    pub(crate) value: f64,
    /// Its first derivative, per second.
    pub(crate) rate: f64,
    /// Its second derivative, per second squared.
    pub(crate) accel: f64,
}

impl Jet {
    /// A quantity that does not change.
    pub(crate) const fn still(value: f64) -> Self {
        Self { value, rate: 0.0, accel: 0.0 }
    }

    /// `amplitude · sin(2π·frequency·t + phase)`.
    pub(crate) fn sine(amplitude: f64, frequency_hz: f64, phase_rad: f64, time_s: f64) -> Self {
        let turn_rad_s = std::f64::consts::TAU * frequency_hz;
        let (sin, cos) = libm::sincos(turn_rad_s * time_s + phase_rad);
        Self {
            value: amplitude * sin,
            rate: amplitude * turn_rad_s * cos,
            accel: -amplitude * turn_rad_s * turn_rad_s * sin,
        }
    }

    /// The minimum-jerk way from one value to another: rate and acceleration are zero at both ends.
    ///
    /// `x(s) = from + (to − from)·(10s³ − 15s⁴ + 6s⁵)` with `s` the part of the time gone (Flash &
    /// Hogan 1985, J Neurosci 5:1688; the formula from memory, checked by its end conditions).
    pub(crate) fn minimum_jerk(from: f64, to: f64, duration_s: f64, elapsed_s: f64) -> Self {
        if elapsed_s <= 0.0 {
            return Self::still(from);
        }
        if elapsed_s >= duration_s {
            return Self::still(to);
        }
        let s = elapsed_s / duration_s;
        let way = to - from;
        Self {
            value: from + way * s * s * s * (10.0 + s * (-15.0 + 6.0 * s)),
            rate: way * 30.0 * s * s * (1.0 - s) * (1.0 - s) / duration_s,
            accel: way * 60.0 * s * (1.0 - s) * (1.0 - 2.0 * s) / (duration_s * duration_s),
        }
    }
}

impl Add for Jet {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            value: self.value + other.value,
            rate: self.rate + other.rate,
            accel: self.accel + other.accel,
        }
    }
}

/// The product rule.
impl Mul for Jet {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            rate: self.rate * other.value + self.value * other.rate,
            accel: self.accel * other.value
                + 2.0 * self.rate * other.rate
                + self.value * other.accel,
        }
    }
}

impl Mul<f64> for Jet {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self { value: self.value * factor, rate: self.rate * factor, accel: self.accel * factor }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Compares the derivatives of a jet with central differences of its value.
    fn check(of: impl Fn(f64) -> Jet, at_s: f64) {
        let h = 1e-4;
        let (before, now, after) = (of(at_s - h), of(at_s), of(at_s + h));
        let rate = (after.value - before.value) / (2.0 * h);
        let accel = (after.value - 2.0 * now.value + before.value) / (h * h);
        assert!((rate - now.rate).abs() < 1e-4, "{rate} {}", now.rate);
        assert!((accel - now.accel).abs() < 1e-3, "{accel} {}", now.accel);
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let moving = |t| Jet::minimum_jerk(1.0, 3.0, 2.0, t);
        let swaying = |t| Jet::sine(0.4, 1.5, 0.3, t);
        for t in [0.3, 0.9, 1.6] {
            check(moving, t);
            check(swaying, t);
            check(|t| moving(t) * swaying(t) + moving(t) * 2.0, t);
        }
    }

    #[test]
    fn a_minimum_jerk_move_starts_and_ends_at_rest() {
        for (t, value) in [(0.0, 1.0), (2.0, 3.0), (9.0, 3.0)] {
            assert_eq!(Jet::minimum_jerk(1.0, 3.0, 2.0, t), Jet::still(value));
        }
        let nearly = Jet::minimum_jerk(1.0, 3.0, 2.0, 2.0 - 1e-9);
        assert!(nearly.rate.abs() < 1e-8 && nearly.accel.abs() < 1e-6);
    }
}
