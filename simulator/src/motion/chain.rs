//! From joint angles to what a sensor on the segment would ideally feel.
//!
//! A segment hangs on the table by a chain of turns about fixed axes. Going down the chain, the
//! upward vector, the angular rate and the angular acceleration are carried into each next frame:
//! with `E` the turn by `q` about the axis `e`, a vector `v` of the frame before reads `Eᵀv`, and
//!
//! - `ω' = Eᵀω + q̇·e`
//! - `ω̇' = Eᵀω̇ + q̈·e − q̇·e × Eᵀω`
//!
//! (the derivative of the line above, with `Ė = E·[q̇e]×`). Nothing is sampled or filtered.
//!
//! The table's frame: x to the head of a person who lies prone, y to the person's left, z up.

use nalgebra::Vector3;

use super::jet::Jet;

/// Standard gravity, m/s² (3rd CGPM, 1901).
pub(crate) const GRAVITY_M_S2: f64 = 9.806_65;

/// A fixed axis of the frame before the turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    /// To the head.
    X,
    /// To the person's left.
    Y,
    /// Away from the table.
    Z,
}

impl Axis {
    fn unit(self) -> Vector3<f64> {
        match self {
            Self::X => Vector3::x(),
            Self::Y => Vector3::y(),
            Self::Z => Vector3::z(),
        }
    }

    /// Reads a vector in the frame that is turned about this axis.
    fn carrying(self, angle_rad: f64) -> impl Fn(Vector3<f64>) -> Vector3<f64> {
        let (sin, cos) = libm::sincos(angle_rad);
        move |v| match self {
            Self::X => Vector3::new(v.x, cos * v.y + sin * v.z, cos * v.z - sin * v.y),
            Self::Y => Vector3::new(cos * v.x - sin * v.z, v.y, cos * v.z + sin * v.x),
            Self::Z => Vector3::new(cos * v.x + sin * v.y, cos * v.y - sin * v.x, v.z),
        }
    }
}

/// How a segment stands and turns, seen in its own frame.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Attitude {
    up: Vector3<f64>,
    rate_rad_s: Vector3<f64>,
    accel_rad_s2: Vector3<f64>,
}

impl Attitude {
    /// The table's frame, at rest.
    pub(crate) fn level() -> Self {
        Self { up: Vector3::z(), rate_rad_s: Vector3::zeros(), accel_rad_s2: Vector3::zeros() }
    }

    /// The next frame down the chain, turned about one axis by an angle in radians.
    pub(crate) fn turned(self, axis: Axis, angle_rad: Jet) -> Self {
        let along = axis.unit();
        let carry = axis.carrying(angle_rad.value);
        let carried_rate = carry(self.rate_rad_s);
        let own_rate = along * angle_rad.rate;
        Self {
            up: carry(self.up),
            rate_rad_s: carried_rate + own_rate,
            accel_rad_s2: carry(self.accel_rad_s2) + along * angle_rad.accel
                - own_rate.cross(&carried_rate),
        }
    }

    /// The same attitude in axes that are named differently: `rename` gives a vector's components
    /// along the new axes and must be a proper rotation.
    pub(crate) fn renamed(self, rename: impl Fn(Vector3<f64>) -> Vector3<f64>) -> Self {
        Self {
            up: rename(self.up),
            rate_rad_s: rename(self.rate_rad_s),
            accel_rad_s2: rename(self.accel_rad_s2),
        }
    }

    /// What an ideal sensor at a fixed point of the segment feels; the segment turns about a point
    /// that is at rest, `lever_m` away from the sensor.
    ///
    /// Specific force = `ω̇ × p + ω × (ω × p) + g·up`.
    pub(crate) fn felt_at(&self, lever_m: Vector3<f64>) -> Felt {
        let swing = self.accel_rad_s2.cross(&lever_m)
            + self.rate_rad_s.cross(&self.rate_rad_s.cross(&lever_m));
        Felt { force_m_s2: swing + self.up * GRAVITY_M_S2, rate_rad_s: self.rate_rad_s }
    }

    /// The upward unit vector in the segment's frame.
    #[cfg(test)]
    pub(crate) const fn up(&self) -> Vector3<f64> {
        self.up
    }
}

/// What an ideal sensor feels, in the segment's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Felt {
    /// Specific force, m/s².
    pub(crate) force_m_s2: Vector3<f64>,
    /// Angular rate, rad/s.
    pub(crate) rate_rad_s: Vector3<f64>,
}

impl Felt {
    /// The same, felt by a sensor that is turned on the spot about one axis by an angle in radians.
    pub(crate) fn turned(self, axis: Axis, angle_rad: Jet) -> Self {
        let carry = axis.carrying(angle_rad.value);
        Self {
            force_m_s2: carry(self.force_m_s2),
            rate_rad_s: carry(self.rate_rad_s) + axis.unit() * angle_rad.rate,
        }
    }
}
