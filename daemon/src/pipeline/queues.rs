//! Every queue of the pipeline: its length, and what happens when it is full.
//!
//! | queue | holds | when full |
//! | --- | --- | --- |
//! | [`SOURCE`] | source → pipeline | a simulated or recorded source waits and loses nothing by it; what sensors send meanwhile is counted and said to be lost |
//! | [`KEEPER`] | pipeline → keeper | the pipeline waits: what is to be stored is never dropped |
//! | [`ANSWERS`] | keeper → pipeline | the keeper waits; the pipeline takes answers even while it waits itself |
//! | [`ANNOUNCEMENTS`] | pipeline → whoever tells them | the pipeline waits under the virtual clock; in real time the line goes to the log instead, and is counted |
//! | [`COMMANDS`] | page → pipeline | the sender of the request is told so |
//! | [`ORDERS`] | page → pipeline, answered | the sender of the request is told so |
//! | live state | pipeline → page | a watch: only the newest is held |
//!
//! The store's own queue is described with its writer.

/// Events of the source: some three seconds of eight sensors at 200 Hz that put one sample into a
/// notification.
pub const SOURCE: usize = 4096;

/// Records and chunks on their way to the store: about a minute of three sensors.
pub const KEEPER: usize = 256;

/// Answers of the store.
pub const ANSWERS: usize = 16;

/// Lines for people.
pub const ANNOUNCEMENTS: usize = 64;

/// Commands from the page.
pub const COMMANDS: usize = 8;

/// What the page asks for and is answered.
pub const ORDERS: usize = 4;
