//! Bluetooth sensors as a source: found, connected, drained, watched, and taken up again.
//!
//! ```text
//! runner ── life (pure: what happened → what to do)
//!   ├── calls, each with its time limit ──▶ radio, link (traits; btleplug behind them)
//!   └── one drain per sensor: notifications ──▶ the pipeline's queue
//! ```
//!
//! [`life`] decides and is tested without IO; [`runner`] carries out. What a back end of another
//! system does differently is imitated by the scripted radio of the tests.

mod bluetooth;
mod calls;
mod drain;
mod forget;
mod life;
mod radio;
mod runner;
#[cfg(test)]
pub(crate) mod tests;
mod timeline;
mod trouble;

pub(crate) use bluetooth::{Bluetooth, BluetoothLink, BluetoothRadio};
pub(crate) use radio::{Characteristic, Link, Notification, Opener, Place, Radio, Seen};
pub(crate) use runner::{Farewell, Wanted, run};
pub(crate) use timeline::Timeline;

pub use life::{Cause, News};
pub use trouble::Trouble;
