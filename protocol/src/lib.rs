//! Bytes from a BLE inertial sensor to samples, and back.
//!
//! This crate is sans-IO: no async, no sockets, no clock of its own, no files beyond the text of a
//! profile. Data goes one way: notification bytes → [`frame`] by a [`profile`] → order and time by
//! [`counter`] and [`clock`] → [`sample::Sample`]; [`stream`] is the whole way for one sensor. The
//! crate also holds what everybody shares: the trade's [words](mod@words) and the text codecs of Motion CSV
//! and Events CSV.

mod bytes;
mod checksum;
pub mod clock;
pub mod counter;
pub mod events_csv;
pub mod frame;
pub mod fuzz_bodies;
pub mod gatt;
pub mod motion_csv;
pub mod profile;
pub mod sample;
pub mod stream;
pub mod words;

pub use bytes::Endian;
pub use checksum::Checksum;
