//! What was wrong with samples, and how often: a filter never hides what it did with its input.

/// A way in which a sample could not be used, or only in part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// A value that is no number, or larger than any sensor's range: rejected.
    NotFinite,
    /// The specific force is zero, so that it has no direction: rejected.
    NoForce,
    /// Not later than the sample before it: rejected.
    NotAfter,
    /// Samples are missing before it: the turn over the gap was interpolated and is trusted less.
    Gap,
    /// So much is missing before it that the turn was not interpolated: gravity is found anew.
    LongGap,
    /// The gyroscope read the end of its range: its turn is trusted less.
    Clipped,
}

impl Fault {
    /// All of them, in the order in which they are declared.
    pub const ALL: [Self; 6] =
        [Self::NotFinite, Self::NoForce, Self::NotAfter, Self::Gap, Self::LongGap, Self::Clipped];
}

/// How many samples had each fault.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Faults([u64; Fault::ALL.len()]);

impl Faults {
    /// How many samples had this fault.
    #[must_use]
    pub const fn count(&self, fault: Fault) -> u64 {
        // The discriminants count from zero to the array's length less one.
        self.0[fault as usize]
    }

    /// How many samples were rejected.
    #[must_use]
    pub const fn rejected(&self) -> u64 {
        self.count(Fault::NotFinite) + self.count(Fault::NoForce) + self.count(Fault::NotAfter)
    }

    pub(super) const fn add(&mut self, fault: Fault) {
        self.0[fault as usize] += 1;
    }
}
