//! The live filter's step allocates nothing, whatever comes: bias, rest, gaps and faults included.

use std::alloc::System;

use endarc_analysis::orientation::LiveFilter;
use endarc_protocol::sample::{Flags, Sample};
use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};

#[global_allocator]
static COUNTED: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

#[test]
fn a_long_visit_is_filtered_without_allocating() {
    // The counter sees every thread, and the test's own harness allocates a little now and then; what
    // the filter allocates it would allocate in every round.
    let rounds: Vec<usize> = (0..5).map(|_| round()).collect();
    assert!(rounds.contains(&0), "{rounds:?}");
}

/// How often anything was allocated while one long visit was filtered.
fn round() -> usize {
    let mut filter = LiveFilter::new();
    let mut accepted = 0;
    let region = Region::new(COUNTED);
    for i in 0..200_000_u32 {
        let orientation = filter.push(&sample(i));
        accepted += u32::from(orientation.accepted);
    }
    let change = region.change();
    assert!(accepted > 190_000, "{accepted}");
    assert!(filter.bias_state().learnt_at_s.is_some());
    assert!(filter.faults().rejected() > 0);
    change.allocations + change.reallocations
}

/// At 100 Hz: ten seconds of rest and ten of swinging in turn, with gaps and bad values.
fn sample(i: u32) -> Sample {
    let time_s = f64::from(i + 7 * (i / 1000)) * 0.01;
    let angle = if i % 2000 < 1000 { 0.0 } else { 0.6 * (1.3 * time_s).sin() };
    let rate = if i % 2000 < 1000 { 0.0 } else { -0.78 * (1.3 * time_s).cos() };
    let bad = i % 5000 == 4999;
    Sample {
        time_s,
        accel_m_s2: [9.81 * angle.sin(), 0.0, 9.81 * angle.cos()],
        gyro_rad_s: [if bad { f64::NAN } else { 0.01 }, rate, 0.0],
        flags: Flags::default(),
    }
}
