//! The tasks that carry a visit from its source to the store and the page.
//!
//! ```text
//! source ──▶ pipeline (decode, clock, order, legs, visit) ──▶ keeper ──▶ store
//!                │  ▲ answers ◀───────────────────────────────┘
//!                └──▶ live state (watch) ──▶ page
//! ```
//!
//! [`record()`] runs them and joins every one. One token stops the source; what has arrived by then
//! goes all the way, and the visit is closed. [`queues`] lists every queue and what happens when it
//! is full.

mod core;
mod intake;
mod keeper;
mod merge;
mod pump;
pub mod queues;
mod record;
pub(crate) mod rows;

pub use record::{Ends, NOBODY, RecordError, Recorded, Settings, record};

#[cfg(test)]
mod tests;
