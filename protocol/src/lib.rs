//! Bytes from a BLE inertial sensor to samples, and back.
//!
//! This crate is sans-IO: no async, no sockets, no clock of its own, no files beyond the text of a
//! profile. Data goes one way: notification bytes → [`sample::Decoded`] → (clock) →
//! [`sample::Sample`]. It also holds what everybody shares: the trade's [`words`] and the text
//! codecs of Motion CSV and Events CSV.

pub mod events_csv;
pub mod motion_csv;
pub mod sample;
pub mod words;
