//! From the axes as the sensor sends them to the sensor's right-handed frame.

/// Order and signs of axes: a rotation by quarter turns, so that counts stay whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AxisMap {
    /// For each axis of the frame: which sent axis it is, and whether its sign is turned.
    from: [(usize, bool); 3],
}

/// Why an axis map was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AxisError {
    /// Not three axes.
    #[error("{0} axes where there must be three")]
    NotThree(usize),
    /// Not one of the six.
    #[error("'{0}' is not an axis")]
    Unknown(String),
    /// An axis is used twice, so another is missing.
    #[error("the map is not orthonormal: an axis is used twice")]
    Repeated,
    /// The frame would be left-handed, and angles would turn the wrong way.
    #[error("the map mirrors the frame (determinant -1)")]
    Mirrored,
}

impl AxisError {
    /// What to do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::NotThree(_) | Self::Unknown(_) => {
                "write three of x, y, z, each with an optional sign, as in [\"y\", \"-x\", \"z\"]"
            }
            Self::Repeated => "use each of x, y and z once",
            Self::Mirrored => "swap two axes or turn one sign, so that the frame is right-handed",
        }
    }
}

impl AxisMap {
    /// The axes as they are sent.
    pub const IDENTITY: Self = Self { from: [(0, false), (1, false), (2, false)] };

    /// Reads `["y", "-x", "z"]`: the frame's x is the sent y, its y the sent x with the sign
    /// turned, its z the sent z.
    ///
    /// # Errors
    /// [`AxisError`] for anything but a map that is orthonormal with determinant +1.
    pub fn parse<T: AsRef<str>>(axes: &[T]) -> Result<Self, AxisError> {
        let [x, y, z] = axes else {
            return Err(AxisError::NotThree(axes.len()));
        };
        let from = [axis(x.as_ref())?, axis(y.as_ref())?, axis(z.as_ref())?];
        match determinant(from) {
            1 => Ok(Self { from }),
            -1 => Err(AxisError::Mirrored),
            _ => Err(AxisError::Repeated),
        }
    }

    /// The same axes, all three pointing the other way: for a sensor whose sign convention is the
    /// opposite one (a rest reading of -1 g upward, rotations counted left-handed).
    pub(super) fn opposite(self) -> Self {
        Self { from: self.from.map(|(axis, negated)| (axis, !negated)) }
    }

    /// From what was sent to the frame.
    #[must_use]
    pub fn apply(self, sent: [f64; 3]) -> [f64; 3] {
        let [x, y, z] = sent;
        self.from.map(|(axis, negated)| {
            let value = match axis {
                0 => x,
                1 => y,
                _ => z,
            };
            if negated { -value } else { value }
        })
    }

    /// From the frame back to what is sent.
    #[must_use]
    pub fn undo(self, frame: [f64; 3]) -> [f64; 3] {
        let mut sent = [0.0; 3];
        for ((axis, negated), value) in self.from.into_iter().zip(frame) {
            if let Some(slot) = sent.get_mut(axis) {
                *slot = if negated { -value } else { value };
            }
        }
        sent
    }
}

fn axis(text: &str) -> Result<(usize, bool), AxisError> {
    let (name, negated) = match text.strip_prefix('-') {
        Some(name) => (name, true),
        None => (text.strip_prefix('+').unwrap_or(text), false),
    };
    match name {
        "x" => Ok((0, negated)),
        "y" => Ok((1, negated)),
        "z" => Ok((2, negated)),
        _ => Err(AxisError::Unknown(text.to_owned())),
    }
}

/// Determinant of the signed permutation; 0 when an axis is used twice.
fn determinant(from: [(usize, bool); 3]) -> i32 {
    let parity = match from.map(|(axis, _)| axis) {
        [0, 1, 2] | [1, 2, 0] | [2, 0, 1] => 1,
        [0, 2, 1] | [1, 0, 2] | [2, 1, 0] => -1,
        _ => 0,
    };
    from.iter().fold(parity, |sign, (_, negated)| if *negated { -sign } else { sign })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H18: [[1,0,0],[0,1,0],[0,0,-1]] and [[0,1,0],[1,0,0],[0,0,1]] have determinant -1.
    #[test]
    fn mirrored_maps_are_refused() {
        assert_eq!(AxisMap::parse(&["x", "y", "-z"]), Err(AxisError::Mirrored));
        assert_eq!(AxisMap::parse(&["y", "x", "z"]), Err(AxisError::Mirrored));
        assert_eq!(AxisMap::parse(&["x", "x", "z"]), Err(AxisError::Repeated));
        assert_eq!(AxisMap::parse(&["x", "y"]), Err(AxisError::NotThree(2)));
        assert_eq!(AxisMap::parse(&["x", "y", "up"]), Err(AxisError::Unknown("up".into())));
    }

    /// There are exactly 24 rotations by quarter turns; each keeps a right-handed triple so.
    #[test]
    fn all_24_rotations_pass_and_undo_themselves() {
        let names = ["x", "y", "z", "-x", "-y", "-z"];
        let mut passed = 0;
        for x in names {
            for y in names {
                for z in names {
                    let Ok(map) = AxisMap::parse(&[x, y, z]) else { continue };
                    passed += 1;
                    assert_eq!(map.undo(map.apply([1.0, 2.0, 3.0])), [1.0, 2.0, 3.0]);
                    let [a, b, c] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
                        .map(|unit| map.apply(unit));
                    let cross = [
                        a[1] * b[2] - a[2] * b[1],
                        a[2] * b[0] - a[0] * b[2],
                        a[0] * b[1] - a[1] * b[0],
                    ];
                    assert_eq!(cross, c.map(|value| value + 0.0));
                }
            }
        }
        assert_eq!(passed, 24);
    }
}
