//! Rolling counters and clocks, unrolled to 64 bits.

/// Follows a counter that rolls over after `bits` bits.
///
/// It keeps the newest raw value and adds modular differences to a 64-bit total, so that nothing
/// happens at a roll-over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unroll {
    bits: u32,
    newest_raw: u64,
    newest: u64,
}

/// Where a raw value stands to the newest one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// So many steps after it; 0 is the same value again.
    Ahead(u64),
    /// So many steps before it.
    Behind(u64),
}

impl Unroll {
    /// Starts at a raw value of a counter of `bits` bits (1 to 64): the total starts there too.
    #[must_use]
    pub const fn start(bits: u32, raw: u64) -> Self {
        let raw = raw & mask(bits);
        Self { bits, newest_raw: raw, newest: raw }
    }

    /// Where `raw` stands to the newest value. At most `back` steps are taken to be backward, and
    /// at most an eighth of the counter's span: a gap is far more often long than a notification
    /// is late.
    #[must_use]
    pub fn step(&self, raw: u64, back: u64) -> Step {
        let behind = self.newest_raw.wrapping_sub(raw) & mask(self.bits);
        if behind != 0 && behind <= back.min(mask(self.bits) / 8) {
            Step::Behind(behind)
        } else {
            Step::Ahead(raw.wrapping_sub(self.newest_raw) & mask(self.bits))
        }
    }

    /// The total that belongs to a step; a step before the start is the total 0.
    #[must_use]
    pub const fn total(&self, step: Step) -> u64 {
        match step {
            Step::Ahead(steps) => self.newest.saturating_add(steps),
            Step::Behind(steps) => self.newest.saturating_sub(steps),
        }
    }

    /// Takes a step: the newest value moves on, unless the step leads back. Returns the total.
    pub const fn take(&mut self, step: Step) -> u64 {
        let total = self.total(step);
        if let Step::Ahead(steps) = step {
            self.newest = total;
            self.newest_raw = self.newest_raw.wrapping_add(steps) & mask(self.bits);
        }
        total
    }

    /// The newest total.
    #[must_use]
    pub const fn newest(&self) -> u64 {
        self.newest
    }

    /// How many steps it takes until the counter shows the same value again (for 64 bits, one
    /// less).
    #[must_use]
    pub const fn span(&self) -> u64 {
        mask(self.bits).saturating_add(1)
    }
}

const fn mask(bits: u32) -> u64 {
    if bits >= 64 { u64::MAX } else { (1 << bits) - 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn totals(bits: u32, raws: &[u64]) -> Vec<u64> {
        let mut counter = Unroll::start(bits, raws[0]);
        raws.iter().map(|raw| counter.take(counter.step(*raw, 20))).collect()
    }

    fn differences(bits: u32, raws: &[u64]) -> Vec<u64> {
        totals(bits, raws).windows(2).map(|pair| pair[1] - pair[0]).collect()
    }

    /// H01 (a) and (c): u16 milliseconds at 100 Hz, u32 microseconds at 200 Hz.
    #[test]
    fn differences_go_straight_through_a_roll_over() {
        assert_eq!(differences(16, &[65_516, 65_526, 0, 10]), [10, 10, 10]);
        assert_eq!(differences(32, &[4_294_959_796, 4_294_964_796, 2_500]), [5_000, 5_000]);
        assert_eq!(differences(64, &[u64::MAX - 1, u64::MAX - 1]), [0]);
    }

    /// H01 (b): u24 ticks, 200 a sample, through three roll-overs.
    #[test]
    fn the_total_is_right_after_the_third_roll_over() {
        assert_eq!(differences(24, &[16_776_816, 16_777_016, 0, 200]), [200, 200, 200]);
        let mut counter = Unroll::start(24, 16_776_816);
        let samples = 3 * (1_u64 << 24) / 200;
        for sample in 1..=samples {
            let raw = (16_776_816 + 200 * sample) % (1 << 24);
            let step = counter.step(raw, 400);
            assert_eq!(step, Step::Ahead(200));
            counter.take(step);
        }
        assert_eq!(counter.newest(), 16_776_816 + 200 * samples);
    }

    /// H05 (b) and (c): a u8 sequence with nothing lost, then with two lost at the roll-over.
    #[test]
    fn a_loss_at_the_roll_over_is_counted_right() {
        assert_eq!(differences(8, &[254, 255, 0, 1]), [1, 1, 1]);
        assert_eq!(differences(8, &[253, 254, 1, 2]), [1, 3, 1]);
    }

    #[test]
    fn a_value_from_before_does_not_move_the_total() {
        let mut counter = Unroll::start(8, 255);
        counter.take(Step::Ahead(2));
        assert_eq!(counter.step(255, 20), Step::Behind(2));
        assert_eq!(counter.take(Step::Behind(2)), 255);
        assert_eq!(counter.newest(), 257);
    }
}
