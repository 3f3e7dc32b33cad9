//! Sensor profiles: what a BLE inertial sensor sends, described in TOML.
//!
//! Every key is documented in `profiles/README.md`. What was typed is read into a raw shape first
//! and then checked into [`Profile`], which cannot hold a layout that does not fit its frame, a
//! mirrored frame or a scale of zero.

mod axes;
mod check;
mod error;
mod fit;
mod layout;
mod matching;
mod raw;
mod stream;
#[cfg(test)]
mod tests;

use uuid::Uuid;

pub use axes::{AxisError, AxisMap};
pub use error::ProfileError;
pub use layout::{
    ChecksumField, CounterField, Counts, HeaderBytes, NumberType, SampleNumber, StreamLayout,
    TimestampField, TripleLayout, WordType,
};
pub use matching::{Advertised, MatchRules};

/// The text of the built-in profile.
pub const REFERENCE_TOML: &str = include_str!("../../profiles/reference.toml");

/// A kind of sensor: how to recognise it, start it, and read what it sends.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    name: String,
    rate_hz: f64,
    matching: MatchRules,
    streams: Vec<StreamLayout>,
    start: Vec<Write>,
    stop: Vec<Write>,
    rates: Vec<RateWrite>,
}

/// Bytes to write to a characteristic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Write {
    /// The characteristic to write to.
    pub characteristic: Uuid,
    /// The service it belongs to, if the profile says so.
    pub service: Option<Uuid>,
    /// What to write.
    pub bytes: Vec<u8>,
    /// Whether the sensor is to confirm.
    pub with_response: bool,
}

/// What to write for a sampling rate.
#[derive(Debug, Clone, PartialEq)]
pub struct RateWrite {
    /// The rate, samples per second.
    pub hz: f64,
    /// What sets it.
    pub write: Write,
}

impl Profile {
    /// Reads a profile from TOML; `file` only names it in errors.
    ///
    /// # Errors
    /// [`ProfileError`] with file, line, field and remedy for the first thing that is wrong:
    /// broken TOML, an unknown key, a value out of place, fields that overlap or leave the frame,
    /// an axis map that mirrors the frame.
    pub fn parse(file: &str, text: &str) -> Result<Self, ProfileError> {
        check::profile(error::Source { file, text })
    }

    /// The project's own reference profile, documented byte by byte in `profiles/reference.md`.
    #[must_use]
    #[expect(clippy::expect_used, reason = "the text is compiled in, and a test parses it")]
    pub fn reference() -> Self {
        Self::parse("reference.toml", REFERENCE_TOML).expect("the built-in profile is valid")
    }

    /// The profile's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The nominal rate, samples per second. A real sensor's may be some percent off.
    #[must_use]
    pub const fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// The same sensor set to another nominal rate, samples per second: one of [`Self::rates`].
    /// A rate that is not a number above zero is not taken.
    #[must_use]
    pub fn at_rate_hz(mut self, rate_hz: f64) -> Self {
        if rate_hz.is_finite() && rate_hz > 0.0 {
            self.rate_hz = rate_hz;
        }
        self
    }

    /// The same sensor where a notification holds `room` bytes: frames usually hold as many samples
    /// as before, or as many as fit.
    ///
    /// # Errors
    /// The shortest frame's length, bytes, where not even that fits.
    pub fn fitting(&self, room: usize) -> Result<Self, usize> {
        let mut fitted = self.clone();
        for stream in &mut fitted.streams {
            stream.usual = stream.fitting(room)?;
        }
        Ok(fitted)
    }

    /// Which advertisements belong to it.
    #[must_use]
    pub const fn matching(&self) -> &MatchRules {
        &self.matching
    }

    /// The characteristics that notify samples: one, or one each for accelerometer and gyroscope.
    #[must_use]
    pub fn streams(&self) -> &[StreamLayout] {
        &self.streams
    }

    /// The stream of a characteristic.
    #[must_use]
    pub fn stream(&self, characteristic: Uuid) -> Option<&StreamLayout> {
        self.streams.iter().find(|stream| stream.characteristic == characteristic)
    }

    /// What to write, in order, once subscribed, so that samples come.
    #[must_use]
    pub fn start(&self) -> &[Write] {
        &self.start
    }

    /// What to write, in order, before leaving.
    #[must_use]
    pub fn stop(&self) -> &[Write] {
        &self.stop
    }

    /// The rates the sensor can be set to, and how.
    #[must_use]
    pub fn rates(&self) -> &[RateWrite] {
        &self.rates
    }

    /// m/s² per count: a value is its count times this. `None` when the sensor sends floats, as
    /// there are no counts then.
    #[must_use]
    pub fn accel_scale_m_s2(&self) -> Option<f64> {
        self.accel().filter(|_| self.has_counts()).map(TripleLayout::scale_si)
    }

    /// rad/s per count: a value is its count times this. `None` when the sensor sends floats, as
    /// there are no counts then.
    #[must_use]
    pub fn gyro_scale_rad_s(&self) -> Option<f64> {
        self.gyro().filter(|_| self.has_counts()).map(TripleLayout::scale_si)
    }

    /// Whether both quantities are sent as whole counts.
    #[must_use]
    pub fn has_counts(&self) -> bool {
        [self.accel(), self.gyro()].into_iter().flatten().all(|triple| triple.number().is_integer())
    }

    /// How the accelerometer is written.
    #[must_use]
    pub fn accel(&self) -> Option<&TripleLayout> {
        self.streams.iter().find_map(StreamLayout::accel)
    }

    /// How the gyroscope is written.
    #[must_use]
    pub fn gyro(&self) -> Option<&TripleLayout> {
        self.streams.iter().find_map(StreamLayout::gyro)
    }
}
