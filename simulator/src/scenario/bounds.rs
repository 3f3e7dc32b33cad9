//! Numbers that are checked where they are read.

use serde::{Deserialize, Deserializer, de::Error};

/// Reads a number from `LOW` to `HIGH`, both allowed.
pub(super) fn within<'de, const LOW: i64, const HIGH: i64, D>(input: D) -> Result<f64, D::Error>
where
    D: Deserializer<'de>,
{
    let value = f64::deserialize(input)?;
    if (LOW as f64..=HIGH as f64).contains(&value) {
        Ok(value)
    } else {
        Err(D::Error::custom(format!("{value} does not lie between {LOW} and {HIGH}")))
    }
}

/// As [`within`], for a key that may be left out.
pub(super) fn maybe_within<'de, const LOW: i64, const HIGH: i64, D>(
    input: D,
) -> Result<Option<f64>, D::Error>
where
    D: Deserializer<'de>,
{
    within::<LOW, HIGH, D>(input).map(Some)
}

/// Reads a whole number from `LOW` to `HIGH`, both allowed.
pub(super) fn count<'de, const LOW: u32, const HIGH: u32, D>(input: D) -> Result<u32, D::Error>
where
    D: Deserializer<'de>,
{
    let value = u32::deserialize(input)?;
    if (LOW..=HIGH).contains(&value) {
        Ok(value)
    } else {
        Err(D::Error::custom(format!("{value} does not lie between {LOW} and {HIGH}")))
    }
}

/// Reads a list that holds something.
pub(super) fn some<'de, T, D>(input: D) -> Result<Vec<T>, D::Error>
where
    T: Deserialize<'de>,
    D: Deserializer<'de>,
{
    let values = Vec::deserialize(input)?;
    if values.is_empty() {
        Err(D::Error::custom("the list is empty: name at least one, or leave the key out"))
    } else {
        Ok(values)
    }
}

/// Reads a text with at least one letter and no control characters.
pub(super) fn printable<'de, D>(input: D) -> Result<String, D::Error>
where
    D: Deserializer<'de>,
{
    let text = String::deserialize(input)?;
    if text.trim().is_empty() || text.chars().any(char::is_control) {
        Err(D::Error::custom("the text is empty or holds control characters"))
    } else {
        Ok(text)
    }
}

/// As [`printable`], for a key that may be left out.
pub(super) fn maybe_printable<'de, D>(input: D) -> Result<Option<String>, D::Error>
where
    D: Deserializer<'de>,
{
    printable(input).map(Some)
}
