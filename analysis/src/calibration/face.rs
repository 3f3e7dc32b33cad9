//! The six faces of a sensor.

use std::fmt;

use nalgebra::Vector3;

/// A face of the sensor's case, named by the axis that points up when it is on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// x points up.
    XUp,
    /// x points down.
    XDown,
    /// y points up.
    YUp,
    /// y points down.
    YDown,
    /// z points up.
    ZUp,
    /// z points down.
    ZDown,
}

impl Face {
    /// All six, in the order in which they are listed to a person.
    pub const ALL: [Self; 6] =
        [Self::ZUp, Self::ZDown, Self::XUp, Self::XDown, Self::YUp, Self::YDown];

    /// The face that is on top, roughly: within 30° of straight up. `force` is the specific force at
    /// rest (any unit).
    #[must_use]
    pub fn on_top(force: &Vector3<f64>) -> Option<Self> {
        let up = force.try_normalize(0.0)?;
        let axis = up.iamax();
        let value = up.get(axis).copied()?;
        if value.abs() < ROUGHLY {
            return None;
        }
        Some(match (axis, value > 0.0) {
            (0, true) => Self::XUp,
            (0, false) => Self::XDown,
            (1, true) => Self::YUp,
            (1, false) => Self::YDown,
            (_, true) => Self::ZUp,
            (_, false) => Self::ZDown,
        })
    }

    /// The one spelling of this face.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::XUp => "x-up",
            Self::XDown => "x-down",
            Self::YUp => "y-up",
            Self::YDown => "y-down",
            Self::ZUp => "z-up",
            Self::ZDown => "z-down",
        }
    }
}

impl fmt::Display for Face {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.as_str().replace('-', " "))
    }
}

// cos 30°.
const ROUGHLY: f64 = 0.866;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_face_is_on_top_when_its_axis_points_up_roughly() {
        for (force, face) in [
            ([9.0, 2.0, -3.0], Some(Face::XUp)),
            ([0.1, -9.8, 0.2], Some(Face::YDown)),
            ([0.3, 0.2, -1.0], Some(Face::ZDown)),
            ([7.0, 0.0, 7.0], None),
            ([0.0, 0.0, 0.0], None),
        ] {
            assert_eq!(Face::on_top(&Vector3::from(force)), face, "{force:?}");
        }
        assert_eq!(Face::ZDown.to_string(), "z down");
    }
}
