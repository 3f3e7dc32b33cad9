//! From the raw profile to one that cannot be wrong: everything but the frames themselves.

use toml::Spanned;
use uuid::Uuid;

use super::axes::AxisMap;
use super::error::{ProfileError, Source};
use super::layout::StreamLayout;
use super::matching::MatchRules;
use super::raw::{RawMatch, RawProfile, RawRate, RawWrite};
use super::{Profile, RateWrite, Write, stream};

pub(super) fn profile(source: Source<'_>) -> Result<Profile, ProfileError> {
    let raw: RawProfile = toml::from_str(source.text).map_err(|error| source.toml_error(error))?;
    if raw.name.get_ref().trim().is_empty() {
        return Err(source.error(
            raw.name.span(),
            "name",
            "it is empty",
            "give the profile a name",
        ));
    }
    let axes = match &raw.axes {
        Some(axes) => axis_map(source, "axes", axes)?,
        None => AxisMap::IDENTITY,
    };
    let streams = streams(source, &raw, axes)?;
    Ok(Profile {
        name: raw.name.get_ref().trim().to_owned(),
        rate_hz: positive(source, "rate_hz", &raw.rate_hz)?,
        matching: matching(source, &raw.matching)?,
        streams,
        start: writes(source, "start", &raw.start)?,
        stop: writes(source, "stop", &raw.stop)?,
        rates: rates(source, &raw.rate)?,
    })
}

fn streams(
    source: Source<'_>,
    raw: &RawProfile,
    axes: AxisMap,
) -> Result<Vec<StreamLayout>, ProfileError> {
    let mut streams: Vec<StreamLayout> = Vec::new();
    for typed in &raw.stream {
        let stream = stream::layout(source, typed, axes)?;
        let refuse = |problem: &str, remedy: &str| {
            Err(source.error(typed.span(), "stream", problem, remedy))
        };
        for earlier in &streams {
            if earlier.characteristic == stream.characteristic {
                return refuse(
                    "two streams have the same characteristic",
                    "describe all of a notification's fields in one [[stream]]",
                );
            }
            if earlier.accel.is_some() == stream.accel.is_some()
                || earlier.gyro.is_some() == stream.gyro.is_some()
            {
                return refuse(
                    "a quantity is described twice",
                    "give accel in one [[stream]] and gyro in the other, or both in one",
                );
            }
            if !same_numbering(earlier, &stream) {
                return refuse(
                    "its samples cannot be paired with the other stream's",
                    "both streams need the same type of counter, or the same type and tick of \
                     timestamp",
                );
            }
        }
        streams.push(stream);
    }
    for (quantity, found) in [
        ("accel", streams.iter().any(|stream| stream.accel.is_some())),
        ("gyro", streams.iter().any(|stream| stream.gyro.is_some())),
    ] {
        if !found {
            return Err(source.error(
                0..0,
                &format!("stream.{quantity}"),
                "no stream describes it",
                format!("add {quantity} = {{ … }} to a [[stream]]"),
            ));
        }
    }
    Ok(streams)
}

/// Whether samples of two streams can be told to be of the same moment.
fn same_numbering(one: &StreamLayout, other: &StreamLayout) -> bool {
    let counter = |stream: &StreamLayout| stream.counter.map(|field| (field.word, field.counts));
    let time = |stream: &StreamLayout| stream.timestamp.map(|field| (field.word, field.tick_s));
    counter(one) == counter(other) && time(one) == time(other)
}

fn matching(source: Source<'_>, raw: &Spanned<RawMatch>) -> Result<MatchRules, ProfileError> {
    let rules = raw.get_ref();
    if rules.service.is_none() && rules.name_prefix.is_none() && rules.manufacturer.is_none() {
        return Err(source.error(
            raw.span(),
            "match",
            "there is no rule, so it would claim every sensor",
            "give service, name_prefix or manufacturer",
        ));
    }
    let name_prefix = match &rules.name_prefix {
        Some(prefix) if prefix.get_ref().is_empty() => {
            return Err(source.error(
                prefix.span(),
                "match.name_prefix",
                "it is empty, so it would claim every sensor",
                "write the beginning of the advertised name",
            ));
        }
        prefix => prefix.as_ref().map(|prefix| prefix.get_ref().clone()),
    };
    let manufacturer = match &rules.manufacturer {
        Some(manufacturer) => {
            let prefix = match &manufacturer.starts_with {
                Some(text) => hex(source, "match.manufacturer.starts_with", text)?,
                None => Vec::new(),
            };
            Some((manufacturer.company, prefix))
        }
        None => None,
    };
    Ok(MatchRules {
        service: optional_uuid(source, "match.service", rules.service.as_ref())?,
        name_prefix,
        manufacturer,
    })
}

fn writes(source: Source<'_>, field: &str, raw: &[RawWrite]) -> Result<Vec<Write>, ProfileError> {
    raw.iter().map(|raw| write(source, field, raw)).collect()
}

fn write(source: Source<'_>, field: &str, raw: &RawWrite) -> Result<Write, ProfileError> {
    let key = |name: &str| format!("{field}.{name}");
    Ok(Write {
        characteristic: uuid(source, &key("characteristic"), &raw.characteristic)?,
        service: optional_uuid(source, &key("service"), raw.service.as_ref())?,
        bytes: hex(source, &key("bytes"), &raw.bytes)?,
        with_response: raw.response.unwrap_or(true),
    })
}

fn rates(source: Source<'_>, raw: &[RawRate]) -> Result<Vec<RateWrite>, ProfileError> {
    raw.iter()
        .map(|rate| {
            let typed = RawWrite {
                characteristic: rate.characteristic.clone(),
                service: rate.service.clone(),
                bytes: rate.bytes.clone(),
                response: rate.response,
            };
            Ok(RateWrite {
                hz: positive(source, "rate.hz", &rate.hz)?,
                write: write(source, "rate", &typed)?,
            })
        })
        .collect()
}

pub(super) fn axis_map(
    source: Source<'_>,
    field: &str,
    axes: &Spanned<Vec<String>>,
) -> Result<AxisMap, ProfileError> {
    AxisMap::parse(axes.get_ref())
        .map_err(|error| source.error(axes.span(), field, error.to_string(), error.remedy()))
}

pub(super) fn positive(
    source: Source<'_>,
    field: &str,
    number: &Spanned<f64>,
) -> Result<f64, ProfileError> {
    let value = *number.get_ref();
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(source.error(
            number.span(),
            field,
            format!("it is {value}"),
            "write a number above zero",
        ))
    }
}

pub(super) fn uuid(
    source: Source<'_>,
    field: &str,
    text: &Spanned<String>,
) -> Result<Uuid, ProfileError> {
    Uuid::try_parse(text.get_ref()).map_err(|error| {
        source.error(
            text.span(),
            field,
            format!("'{}' is not a UUID ({error})", text.get_ref()),
            "write all 128 bits, as in 01234567-89ab-cdef-0123-456789abcdef",
        )
    })
}

pub(super) fn optional_uuid(
    source: Source<'_>,
    field: &str,
    text: Option<&Spanned<String>>,
) -> Result<Option<Uuid>, ProfileError> {
    text.map(|text| uuid(source, field, text)).transpose()
}

/// Bytes written as pairs of hexadecimal digits, spaces anywhere between pairs.
pub(super) fn hex(
    source: Source<'_>,
    field: &str,
    text: &Spanned<String>,
) -> Result<Vec<u8>, ProfileError> {
    let digits: Option<Vec<u8>> = text
        .get_ref()
        .chars()
        .filter(|character| !character.is_whitespace())
        .map(|character| character.to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
        .collect();
    let bytes = digits.filter(|digits| digits.len() % 2 == 0).map(|digits| {
        digits
            .chunks_exact(2)
            .map(|pair| pair.iter().fold(0, |byte, digit| byte << 4 | digit))
            .collect::<Vec<u8>>()
    });
    match bytes {
        Some(bytes) if !bytes.is_empty() => Ok(bytes),
        _ => Err(source.error(
            text.span(),
            field,
            format!("'{}' is not a row of bytes", text.get_ref()),
            "write two hexadecimal digits for each byte, as in \"A1 02\"",
        )),
    }
}
