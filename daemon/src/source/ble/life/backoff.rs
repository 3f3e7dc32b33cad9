//! How long to wait before the next try.

/// Waits that grow from try to try, each a little different, so that several sensors do not try
/// in step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Backoff {
    tries: u32,
    /// The state of a small linear congruential generator.
    dice: u64,
}

/// The first wait, s: a link that was lost is mostly there again at once.
const FIRST_S: f64 = 0.3;
/// The second; from here on each is twice the one before, s.
const SECOND_S: f64 = 1.0;
/// The longest, s.
const LONGEST_S: f64 = 30.0;
/// How much a wait differs from its nominal length at most, of it.
const JITTER: f64 = 0.25;

impl Backoff {
    pub(super) fn new(seed: u64) -> Self {
        Self { tries: 0, dice: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(1) }
    }

    /// The next wait, s.
    pub(super) fn next_s(&mut self) -> f64 {
        let doublings = self.tries.saturating_sub(1).min(16);
        let nominal_s = match self.tries {
            0 => FIRST_S,
            _ => (SECOND_S * f64::from(1_u32 << doublings)).min(LONGEST_S),
        };
        self.tries = self.tries.saturating_add(1);
        nominal_s * (1.0 + JITTER * self.roll())
    }

    /// All went well.
    pub(super) const fn reset(&mut self) {
        self.tries = 0;
    }

    /// Between -1 and 1 (constants: Knuth's MMIX, from memory; any others would do).
    fn roll(&mut self) -> f64 {
        self.dice = self
            .dice
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.dice >> 40) as f64 / f64::from(1_u32 << 23)) - 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_to_half_a_minute_and_begin_anew_after_success() {
        let mut backoff = Backoff::new(3);
        let nominal = [0.3, 1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0];
        for nominal_s in nominal {
            let wait_s = backoff.next_s();
            assert!((wait_s / nominal_s - 1.0).abs() <= JITTER, "{wait_s} for {nominal_s}");
        }
        backoff.reset();
        assert!(backoff.next_s() < 0.4);
    }

    #[test]
    fn two_sensors_do_not_wait_alike() {
        let waits = |seed| {
            let mut backoff = Backoff::new(seed);
            [(); 6].map(|()| backoff.next_s())
        };
        let (one, other) = (waits(0), waits(1));
        assert!(one.iter().zip(other).all(|(one, other)| (one - other).abs() > 1e-3));
    }
}
