//! Whole-program tests of `endarc`: each runs the program as a person does, and holds what comes of
//! it against what must come.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "all of this runs in tests, where a panic is the way to fail"
)]

mod architecture;
mod bad_input;
#[cfg(target_os = "linux")]
mod bluetooth;
mod calibration;
mod check;
mod demo;
mod desk;
mod export;
mod guided;
mod hinge;
mod http_guard;
mod mobilisation;
mod orientation;
mod page;
mod positions;
mod properties;
mod repetitions;
mod report;
mod run;
mod simulate;
mod statistics;
mod verdicts;
mod written_from_the_docs;
