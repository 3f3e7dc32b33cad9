//! A virtual BLE peripheral: BlueZ's D-Bus face on a bus of its own, with a session's sensors
//! behind it.
//!
//! A program that finds its sensors through BlueZ finds these instead when it is started with
//! [`Peripheral::address`] in `DBUS_SYSTEM_BUS_ADDRESS`: it scans, connects, subscribes and writes
//! as ever. A sensor rests until every worn sensor streams; then the visit begins, once, and runs on
//! through every [`Fault`], so that what a link loses is lost. Needs `dbus-daemon`.
//!
//! | file | its one idea |
//! | --- | --- |
//! | `bus.rs` | a message bus of its own |
//! | `service.rs` | the connection to it that bears the name `org.bluez` |
//! | `adapter.rs`, `device.rs`, `gatt.rs` | the interfaces a client calls |
//! | `link.rs` | how a connection comes and goes |
//! | `sensor.rs`, `tree.rs` | one sensor: its state, and its services |
//! | `feeder.rs` | the task that sends notifications in their time |
//! | `fault.rs`, `script.rs` | what may go wrong, as text, and when |
//! | `host.rs` | all of it, from outside |

mod adapter;
mod bus;
mod device;
mod error;
mod fault;
mod feeder;
mod gatt;
mod host;
mod link;
mod pacer;
mod script;
mod sensor;
mod service;
mod signals;
mod tree;
mod world;

pub use error::PeripheralError;
pub use fault::{Fault, FaultError, Which};
pub use host::{Peripheral, SentCount, Settings};
pub use pacer::Clock;
pub use script::{Script, ScriptError};
