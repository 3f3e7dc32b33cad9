//! What a simulated visit came to, held against what really happened in the simulation.

mod json;
mod matching;
mod outcome;
mod summary;

pub use json::OutcomeJson;
pub use matching::{Matches, matches};
pub use outcome::{Outcome, Values, outcome};
pub use summary::write_summary;

#[cfg(test)]
mod tests;
