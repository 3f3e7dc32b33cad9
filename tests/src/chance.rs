//! Seeded chance for simulated repetition values.

/// A small generator that draws the same everywhere: SplitMix64 (Steele, Lea & Flood, OOPSLA 2014).
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    /// From a seed; neighbouring seeds draw unalike.
    #[must_use]
    pub const fn seeded(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Between 0 and 1, neither of them.
    pub fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// Uniform.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Uniform in the logarithm.
    pub fn about(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// Normal around zero (Box & Muller, Ann Math Stat 1958; 29:610–611).
    pub fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * self.unit().ln()).sqrt();
        sd * radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// One of several.
    pub fn pick(&mut self, from: &[usize]) -> usize {
        from[(self.unit() * from.len() as f64) as usize]
    }
}
