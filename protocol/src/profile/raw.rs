//! A profile as it was typed: the shape of the TOML, nothing checked but types and keys.

use serde::Deserialize;
use serde::de::{self, Deserializer, SeqAccess, Visitor};
use toml::Spanned;

use super::layout::{NumberType, WordType};
use crate::bytes::Endian;
use crate::checksum::Checksum;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawProfile {
    pub(super) name: Spanned<String>,
    pub(super) rate_hz: Spanned<f64>,
    pub(super) axes: Option<Spanned<Vec<String>>>,
    #[serde(rename = "match")]
    pub(super) matching: Spanned<RawMatch>,
    #[serde(default)]
    pub(super) stream: Vec<Spanned<RawStream>>,
    #[serde(default)]
    pub(super) start: Vec<RawWrite>,
    #[serde(default)]
    pub(super) stop: Vec<RawWrite>,
    #[serde(default)]
    pub(super) rate: Vec<RawRate>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawMatch {
    pub(super) service: Option<Spanned<String>>,
    pub(super) name_prefix: Option<Spanned<String>>,
    pub(super) manufacturer: Option<RawManufacturer>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawManufacturer {
    pub(super) company: u16,
    pub(super) starts_with: Option<Spanned<String>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawStream {
    pub(super) characteristic: Spanned<String>,
    pub(super) service: Option<Spanned<String>>,
    pub(super) endian: Endian,
    pub(super) length: Option<Spanned<usize>>,
    #[serde(default)]
    pub(super) header: Vec<RawHeader>,
    pub(super) samples: Spanned<RawSamples>,
    pub(super) counter: Option<Spanned<RawCounter>>,
    pub(super) timestamp: Option<Spanned<RawTimestamp>>,
    pub(super) checksum: Option<Spanned<RawChecksum>>,
    pub(super) accel: Option<Spanned<RawTriple<RawAtRest>>>,
    pub(super) gyro: Option<Spanned<RawTriple<RawSense>>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawHeader {
    pub(super) at: usize,
    pub(super) bytes: Spanned<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSamples {
    pub(super) at: usize,
    pub(super) size: Spanned<usize>,
    pub(super) fixed: Option<Spanned<usize>>,
    pub(super) count_at: Option<Spanned<usize>>,
    pub(super) at_most: Option<Spanned<usize>>,
    pub(super) usual: Option<Spanned<usize>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawCounter {
    pub(super) at: usize,
    #[serde(rename = "type")]
    pub(super) word: Spanned<WordType>,
    #[serde(default)]
    pub(super) counts: RawCounts,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum RawCounts {
    #[default]
    Samples,
    Notifications,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawTimestamp {
    pub(super) at: usize,
    #[serde(rename = "type")]
    pub(super) word: WordType,
    pub(super) tick_s: Spanned<f64>,
    #[serde(default)]
    pub(super) of: RawStamped,
    pub(super) tolerance_ppm: Option<Spanned<f64>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum RawStamped {
    #[default]
    First,
    Last,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawChecksum {
    #[serde(rename = "type")]
    pub(super) kind: Checksum,
    #[serde(default)]
    pub(super) from: usize,
    pub(super) endian: Option<Endian>,
}

/// One quantity; `S` is its sign convention.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawTriple<S> {
    pub(super) at: Spanned<RawPlaces>,
    #[serde(rename = "type")]
    pub(super) number: NumberType,
    pub(super) unit: Spanned<String>,
    pub(super) scale: Spanned<f64>,
    pub(super) range: Option<Spanned<f64>>,
    pub(super) zero: Option<Spanned<i64>>,
    #[serde(default)]
    pub(super) no_data: RawMarkers,
    pub(super) axes: Option<Spanned<Vec<String>>>,
    #[serde(default)]
    pub(super) positive: S,
}

/// Which way an accelerometer's axes read at rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum RawAtRest {
    #[default]
    Up,
    Down,
}

/// Which way round a gyroscope's axes count as positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum RawSense {
    #[default]
    RightHanded,
    LeftHanded,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWrite {
    pub(super) characteristic: Spanned<String>,
    pub(super) service: Option<Spanned<String>>,
    pub(super) bytes: Spanned<String>,
    pub(super) response: Option<bool>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawRate {
    pub(super) hz: Spanned<f64>,
    pub(super) characteristic: Spanned<String>,
    pub(super) service: Option<Spanned<String>>,
    pub(super) bytes: Spanned<String>,
    pub(super) response: Option<bool>,
}

/// Offsets of x, y and z: either the first of three in a row, or all three.
#[derive(Debug, Clone, Copy)]
pub(super) enum RawPlaces {
    InARow(usize),
    Each([usize; 3]),
}

/// Markers for "no data": one number or a list.
#[derive(Debug, Clone, Default)]
pub(super) struct RawMarkers(pub(super) Vec<f64>);

impl<'de> Deserialize<'de> for RawPlaces {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let list = deserializer.deserialize_any(OneOrMore("an offset or three offsets"))?;
        let place = |number: f64| {
            // Offsets are far below 2^53, where every whole number is exact.
            if number >= 0.0 && number.fract() == 0.0 {
                Ok(number as usize)
            } else {
                Err(de::Error::custom(format!(
                    "{number} is not an offset, expected a whole number"
                )))
            }
        };
        match list.as_slice() {
            [first] => Ok(Self::InARow(place(*first)?)),
            [x, y, z] => Ok(Self::Each([place(*x)?, place(*y)?, place(*z)?])),
            other => Err(de::Error::custom(format!(
                "{} offsets, expected one (three numbers in a row) or three",
                other.len()
            ))),
        }
    }
}

impl<'de> Deserialize<'de> for RawMarkers {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(OneOrMore("a number or a list of numbers")).map(Self)
    }
}

struct OneOrMore(&'static str);

impl<'de> Visitor<'de> for OneOrMore {
    type Value = Vec<f64>;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.0)
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Vec<f64>, E> {
        Ok(vec![value as f64])
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Vec<f64>, E> {
        Ok(vec![value])
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Vec<f64>, A::Error> {
        let mut values = Vec::new();
        while let Some(value) = list.next_element()? {
            values.push(value);
        }
        Ok(values)
    }
}
