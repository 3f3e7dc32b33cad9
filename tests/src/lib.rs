//! What whole-program tests of `endarc` are made with: the freshly built program, its runs, and the
//! recordings it is held against.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "all of this runs in tests, where a panic is the way to fail"
)]

pub mod axe;
pub mod binary;
pub mod browser;
pub mod chance;
pub mod daemon;
pub mod database;
pub mod hinge;
pub mod http;
pub mod npy;
#[cfg(target_os = "linux")]
pub mod peripheral;
pub mod process;
pub mod python;
pub mod recorded;
pub mod reference;
pub mod repeated_visit;
pub mod scenario;
pub mod scratch;
pub mod truth;
pub mod two_segments;
#[cfg(target_os = "linux")]
pub mod usage;
pub mod verdict_rates;
pub mod wait;

pub use daemon::Daemon;
pub use process::{Ended, Process, endarc, run};
pub use reference::{reference, skip};
pub use scratch::Scratch;
pub use wait::{Deadline, Watch};
