//! Child seeds: every purpose draws from its own stream of chance.
//!
//! A stream is named (`"plan"`, `"noise/pelvis"`, …). Adding a draw to one shifts no other, and the
//! same scenario gives the same bytes on every machine.

use rand::Rng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

/// A stream of chance that belongs to one purpose.
#[derive(Debug, Clone)]
pub(crate) struct Chance(Pcg64);

impl Chance {
    /// The stream of a scenario's seed for a named purpose.
    pub(crate) fn new(seed: u64, purpose: &str) -> Self {
        let name = fnv1a(purpose);
        let state = u128::from(mix(seed)) << 64 | u128::from(mix(seed ^ name));
        Self(Pcg64::new(state, u128::from(name)))
    }

    /// Evenly spread over `0.0..1.0`.
    pub(crate) fn unit(&mut self) -> f64 {
        // The upper 53 bits are exactly what a double holds.
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly spread over `low..high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normally distributed with mean 0 and the given standard deviation.
    pub(crate) fn normal(&mut self, sd: f64) -> f64 {
        let standard: f64 = StandardNormal.sample(&mut self.0);
        sd * standard
    }

    /// Normally distributed, but never further out than two standard deviations: a hand that
    /// misses by more would start again.
    pub(crate) fn within_two_sd(&mut self, sd: f64) -> f64 {
        self.normal(1.0).clamp(-2.0, 2.0) * sd
    }

    /// Exponentially distributed with the given mean.
    pub(crate) fn exponential(&mut self, mean: f64) -> f64 {
        -mean * libm::log(1.0 - self.unit())
    }

    /// A direction evenly spread over the sphere.
    pub(crate) fn direction(&mut self) -> [f64; 3] {
        let z = self.between(-1.0, 1.0);
        let turn = self.between(0.0, std::f64::consts::TAU);
        let across = libm::sqrt(1.0 - z * z);
        [across * libm::cos(turn), across * libm::sin(turn), z]
    }
}

/// FNV-1a, 64 bit: a name as a number that depends on no library's version.
fn fnv1a(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// The finaliser of SplitMix64: neighbouring seeds become unrelated.
fn mix(seed: u64) -> u64 {
    let a = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let b = (a ^ (a >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let c = (b ^ (b >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    c ^ (c >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_fnv_1a() {
        // Test vectors of draft-eastlake-fnv, appendix: "" and "a" and "foobar".
        assert_eq!(fnv1a(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv1a("foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn streams_repeat_and_differ_by_name_and_seed() {
        let draw = |seed, name| Chance::new(seed, name).unit();
        assert_eq!(draw(7, "plan"), draw(7, "plan"));
        assert_ne!(draw(7, "plan"), draw(7, "noise"));
        assert_ne!(draw(7, "plan"), draw(8, "plan"));
    }

    #[test]
    fn draws_have_the_spread_they_claim() {
        let mut chance = Chance::new(1, "spread");
        let n = 20_000;
        let normals: Vec<f64> = (0..n).map(|_| chance.normal(2.0)).collect();
        let variance = normals.iter().map(|x| x * x).sum::<f64>() / f64::from(n);
        assert!((variance - 4.0).abs() < 0.15, "{variance}");
        let mean = (0..n).map(|_| chance.exponential(3.0)).sum::<f64>() / f64::from(n);
        assert!((mean - 3.0).abs() < 0.1, "{mean}");
        let [x, y, z] = chance.direction();
        assert!((x * x + y * y + z * z - 1.0).abs() < 1e-12);
    }
}
