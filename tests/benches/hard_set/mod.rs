//! The hard set: seeded visits of every kind of movement, from raw signals, live and final, held
//! against the simulator's truth.

pub(crate) mod score;
pub(crate) mod visit;
