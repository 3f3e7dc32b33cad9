//! Frames: the bytes of one notification, read and written by a profile's layout.

mod decode;
mod encode;
mod error;

pub use decode::{Frame, Part, RawSample, Triple};
pub use encode::{EncodeError, Outgoing};
pub use error::{DecodeError, Reason};

#[cfg(test)]
mod round_trip;
#[cfg(test)]
mod tests;
