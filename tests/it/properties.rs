//! What must hold of every recording, whatever the leg, the sensor and the day: properties tried on
//! simulated visits that are drawn anew for each case.
//!
//! Seeded, a few cases each; `PROPTEST_CASES` asks for more.

mod streaming;
mod symmetry;
mod visit;

use proptest::test_runner::{Config, RngSeed};

/// The same few cases in every run, more of them where `PROPTEST_CASES` says so.
fn few_cases() -> Config {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok());
    Config {
        cases: asked.unwrap_or(12),
        rng_seed: RngSeed::Fixed(0x5EED),
        failure_persistence: None,
        // Each try is a whole visit.
        max_shrink_iters: 16,
        ..Config::default()
    }
}
