//! The life of a visit, as a pure state machine.
//!
//! [`Visit::handle`] is fed what happened and the time, and answers with what is to be done about
//! it; [`Visit::state`] is what a viewer is shown. No task, no socket and no database in here: the
//! pipeline carries the effects out.

mod commands;
mod counsel;
pub mod course;
mod effect;
mod event;
mod exchange;
mod legs;
mod machine;
mod notebook;
mod plan;
mod sensors;
mod spans;
pub mod strings;

pub use course::{Answer, BrokenOff, Known, Step, Way};
pub use effect::{Announcement, Effect, Look, Record};
pub use event::{
    Command, Finished, Kept, Link, Loss, LossCause, Marks, Opening, RepetitionKey, SpanMark,
    VisitEvent,
};
pub use machine::Visit;
pub(crate) use sensors::exchanged;

#[cfg(test)]
mod tests;
