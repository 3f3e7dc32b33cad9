//! One `[[stream]]` checked: numbers that make sense, then fields that fit.

use toml::Spanned;

use super::axes::AxisMap;
use super::check::{axis_map, hex, optional_uuid, positive, uuid};
use super::error::{ProfileError, Source};
use super::fit;
use super::layout::{
    ChecksumField, CounterField, Counts, HeaderBytes, NumberType, SampleNumber, StreamLayout,
    TimestampField, TripleLayout,
};
use super::raw::{
    RawAtRest, RawCounts, RawPlaces, RawSamples, RawSense, RawStamped, RawStream, RawTriple,
};

/// Standard gravity, m/s² (3rd General Conference on Weights and Measures, 1901).
pub(crate) const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

/// The most bytes an attribute value may have (Bluetooth Core, volume 3, part F, 3.2.9).
const LONGEST_VALUE: usize = 512;

/// What a notification carries at the usual link packet size of 247 bytes (common practice).
const USUAL_LONGEST_FRAME: usize = 244;

/// How far a sensor's own clock may be off when the profile does not say, parts per million.
const USUAL_TOLERANCE_PPM: f64 = 500.0;

pub(super) fn layout(
    source: Source<'_>,
    typed: &Spanned<RawStream>,
    axes: AxisMap,
) -> Result<StreamLayout, ProfileError> {
    let raw = typed.get_ref();
    let header = raw
        .header
        .iter()
        .map(|header| {
            let bytes = hex(source, "stream.header.bytes", &header.bytes)?;
            Ok(HeaderBytes { at: header.at, bytes })
        })
        .collect::<Result<Vec<_>, ProfileError>>()?;
    let checksum = raw.checksum.as_ref().map(|checksum| checksum.get_ref());
    let checksum = checksum.map(|checksum| ChecksumField {
        kind: checksum.kind,
        from: checksum.from,
        endian: checksum.endian.unwrap_or(raw.endian),
    });
    let accel = raw.accel.as_ref().map(|accel| accel_layout(source, accel, axes)).transpose()?;
    let gyro = raw.gyro.as_ref().map(|gyro| gyro_layout(source, gyro, axes)).transpose()?;
    let (number, at_most, usual) = sample_number(source, raw, checksum)?;
    let layout = StreamLayout {
        characteristic: uuid(source, "stream.characteristic", &raw.characteristic)?,
        service: optional_uuid(source, "stream.service", raw.service.as_ref())?,
        endian: raw.endian,
        length: raw.length.as_ref().map(|length| *length.get_ref()),
        header,
        samples_at: raw.samples.get_ref().at,
        sample_size: *raw.samples.get_ref().size.get_ref(),
        number,
        at_most,
        usual,
        counter: counter(source, raw, number)?,
        timestamp: timestamp(source, raw)?,
        checksum,
        accel,
        gyro,
    };
    if layout.frame_length(layout.at_most) > LONGEST_VALUE {
        return Err(source.error(
            raw.samples.span(),
            "stream.samples",
            format!("a frame of {} samples is longer than {LONGEST_VALUE} bytes", layout.at_most),
            "lower at_most or fixed",
        ));
    }
    fit::check(source, typed, &layout)?;
    Ok(layout)
}

fn sample_number(
    source: Source<'_>,
    raw: &RawStream,
    checksum: Option<ChecksumField>,
) -> Result<(SampleNumber, usize, usize), ProfileError> {
    let samples: &RawSamples = raw.samples.get_ref();
    let refuse = |span, field: &str, problem: &str, remedy: &str| {
        Err(source.error(span, &format!("stream.samples.{field}"), problem, remedy))
    };
    let size = *samples.size.get_ref();
    if size == 0 || size > LONGEST_VALUE {
        return refuse(samples.size.span(), "size", "no sample has this size", "count its bytes");
    }
    let number = match (&samples.fixed, &samples.count_at) {
        (Some(fixed), Some(_)) => {
            return refuse(
                fixed.span(),
                "fixed",
                "fixed and count_at are both given",
                "keep the one that is true",
            );
        }
        (Some(fixed), None) => SampleNumber::Fixed(*fixed.get_ref()),
        (None, Some(at)) => SampleNumber::CountByte { at: *at.get_ref() },
        (None, None) => SampleNumber::ByLength,
    };
    if let (SampleNumber::ByLength, Some(length)) = (number, &raw.length) {
        return refuse(
            length.span(),
            "fixed",
            "length is given, but nothing says how many samples a frame holds",
            "give fixed or count_at, or drop length",
        );
    }
    let overhead = samples.at.saturating_add(checksum.map_or(0, |checksum| checksum.kind.width()));
    let room = USUAL_LONGEST_FRAME.saturating_sub(overhead) / size;
    let at_most = match (number, &samples.at_most) {
        (SampleNumber::Fixed(fixed), _) => fixed,
        (_, Some(at_most)) => *at_most.get_ref(),
        (_, None) => room.clamp(1, 255),
    };
    if !(1..=255).contains(&at_most) {
        return refuse(
            raw.samples.span(),
            "at_most",
            "a frame holds 1 to 255 samples",
            "correct fixed or at_most",
        );
    }
    let usual = samples.usual.as_ref().map_or(at_most, |usual| *usual.get_ref());
    if usual == 0 || usual > at_most || (samples.usual.is_some() && samples.fixed.is_some()) {
        return refuse(
            raw.samples.span(),
            "usual",
            "it does not agree with fixed or at_most",
            "write a number from 1 to at_most, and none beside fixed",
        );
    }
    Ok((number, at_most, usual))
}

fn counter(
    source: Source<'_>,
    raw: &RawStream,
    number: SampleNumber,
) -> Result<Option<CounterField>, ProfileError> {
    let Some(typed) = &raw.counter else { return Ok(None) };
    let counter = typed.get_ref();
    let counts = match (counter.counts, number) {
        (RawCounts::Samples, _) => Counts::Samples,
        (RawCounts::Notifications, SampleNumber::Fixed(_)) => Counts::Notifications,
        (RawCounts::Notifications, _) => {
            return Err(source.error(
                typed.span(),
                "stream.counter.counts",
                "notifications are counted, but each may hold another number of samples",
                "count samples, or give samples.fixed; else leave the counter out and use a \
                 timestamp",
            ));
        }
    };
    Ok(Some(CounterField { at: counter.at, word: *counter.word.get_ref(), counts }))
}

fn timestamp(source: Source<'_>, raw: &RawStream) -> Result<Option<TimestampField>, ProfileError> {
    let Some(typed) = &raw.timestamp else { return Ok(None) };
    let timestamp = typed.get_ref();
    let tolerance_ppm = match &timestamp.tolerance_ppm {
        Some(ppm) => positive(source, "stream.timestamp.tolerance_ppm", ppm)?,
        None => USUAL_TOLERANCE_PPM,
    };
    Ok(Some(TimestampField {
        at: timestamp.at,
        word: timestamp.word,
        tick_s: positive(source, "stream.timestamp.tick_s", &timestamp.tick_s)?,
        of_last: timestamp.of == RawStamped::Last,
        tolerance_ppm,
    }))
}

fn accel_layout(
    source: Source<'_>,
    typed: &Spanned<RawTriple<RawAtRest>>,
    axes: AxisMap,
) -> Result<TripleLayout, ProfileError> {
    let raw = typed.get_ref();
    let units = [("m/s2", 1.0), ("g", STANDARD_GRAVITY_M_S2)];
    triple(source, "stream.accel", typed, axes, &units, raw.positive == RawAtRest::Down)
}

fn gyro_layout(
    source: Source<'_>,
    typed: &Spanned<RawTriple<RawSense>>,
    axes: AxisMap,
) -> Result<TripleLayout, ProfileError> {
    let raw = typed.get_ref();
    let units = [("rad/s", 1.0), ("deg/s", std::f64::consts::PI / 180.0)];
    triple(source, "stream.gyro", typed, axes, &units, raw.positive == RawSense::LeftHanded)
}

fn triple<S>(
    source: Source<'_>,
    field: &str,
    typed: &Spanned<RawTriple<S>>,
    axes: AxisMap,
    units: &[(&str, f64)],
    opposite: bool,
) -> Result<TripleLayout, ProfileError> {
    let raw = typed.get_ref();
    let key = |name: &str| format!("{field}.{name}");
    let unit = raw.unit.get_ref().as_str();
    let Some((_, unit_si)) = units.iter().find(|(name, _)| *name == unit) else {
        let allowed = units.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(" or ");
        return Err(source.error(
            raw.unit.span(),
            &key("unit"),
            format!("'{unit}' is not a unit of this quantity"),
            format!("write {allowed}"),
        ));
    };
    let scale = positive(source, &key("scale"), &raw.scale)?;
    let axes = match &raw.axes {
        Some(own) => axis_map(source, &key("axes"), own)?,
        None => axes,
    };
    let width = raw.number.width();
    let at = match *raw.at.get_ref() {
        RawPlaces::InARow(first) => [0, 1, 2].map(|axis| first.saturating_add(axis * width)),
        RawPlaces::Each(each) => each,
    };
    let zero = raw.zero.as_ref().map_or(0, |zero| *zero.get_ref());
    Ok(TripleLayout {
        at,
        number: raw.number,
        zero,
        no_data: raw.no_data.0.clone(),
        axes: if opposite { axes.opposite() } else { axes },
        scale_si: scale * unit_si,
        limit: limit(source, field, typed, scale)?,
    })
}

/// The count at which a reading is saturated: the stated range, or the end of what can be written.
fn limit<S>(
    source: Source<'_>,
    field: &str,
    typed: &Spanned<RawTriple<S>>,
    scale: f64,
) -> Result<f64, ProfileError> {
    let raw = typed.get_ref();
    let range = match &raw.range {
        Some(range) => positive(source, &format!("{field}.range"), range)? / scale,
        None => f64::INFINITY,
    };
    if !raw.number.is_integer() {
        if let Some(zero) = &raw.zero {
            return Err(source.error(
                zero.span(),
                &format!("{field}.zero"),
                "a float needs no zero",
                "leave it out",
            ));
        }
        return Ok(range);
    }
    let writable = writable_counts(raw.number, raw.zero.as_ref().map_or(0, |zero| *zero.get_ref()));
    if writable < 1 {
        return Err(source.error(
            raw.zero.as_ref().map_or_else(|| typed.span(), Spanned::span),
            &format!("{field}.zero"),
            "readings could only have one sign",
            "write the number that stands for zero, e.g. 32768 for a u16",
        ));
    }
    // The range's last count is within it only as a whole number (4 g at 1/8192 g: 32768 counts).
    let limit = range.floor().min(writable as f64);
    if limit < 1.0 {
        return Err(source.error(
            raw.scale.span(),
            &format!("{field}.scale"),
            "the whole range is less than one count",
            "scale is the unit per count: the range divided by the counts that span it",
        ));
    }
    Ok(limit)
}

/// The largest count that can be written with either sign.
fn writable_counts(number: NumberType, zero: i64) -> i64 {
    let (lowest, highest) = number.bounds();
    highest
        .saturating_sub(zero)
        .min(zero.saturating_sub(lowest.saturating_add(i64::from(number.is_signed()))))
}
