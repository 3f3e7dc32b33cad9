//! What is told of the table that a visit is measured on.

/// How the table stands, as far as it was told before the visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum TableTilt {
    /// Nothing was told.
    #[default]
    Untold,
    /// Its sideways tilt, degrees, positive where a prone person's left is higher.
    Degrees(f64),
    /// It is the table of this name, whose stored levelling counts.
    Table(String),
}

impl TableTilt {
    /// The tilt that was told as a number, degrees.
    #[must_use]
    pub const fn degrees(&self) -> Option<f64> {
        match self {
            Self::Degrees(degrees) => Some(*degrees),
            Self::Untold | Self::Table(_) => None,
        }
    }

    /// The table that was named.
    #[must_use]
    pub fn table(&self) -> Option<&str> {
        match self {
            Self::Table(name) => Some(name),
            Self::Untold | Self::Degrees(_) => None,
        }
    }
}
