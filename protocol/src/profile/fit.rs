//! Whether a stream's fields lie inside its frame and none lies on another.

use std::ops::Range;

use toml::Spanned;

use super::error::{ProfileError, Source};
use super::layout::{SampleNumber, StreamLayout};
use super::raw::RawStream;

/// Checks the shortest frame for fields outside it, and the longest for fields on one another.
pub(super) fn check(
    source: Source<'_>,
    typed: &Spanned<RawStream>,
    layout: &StreamLayout,
) -> Result<(), ProfileError> {
    let refuse = |field: &str, problem: String, remedy: &str| {
        Err(source.error(typed.span(), &format!("stream.{field}"), problem, remedy))
    };
    if layout.accel.is_none() && layout.gyro.is_none() {
        return refuse(
            "accel",
            "the stream describes neither accel nor gyro".to_owned(),
            "add at least one of them",
        );
    }
    let shortest = match layout.number {
        SampleNumber::Fixed(number) => layout.frame_length(number),
        SampleNumber::CountByte { .. } | SampleNumber::ByLength => layout.frame_length(1),
    };
    let head = head_fields(layout);
    for (name, range) in &head {
        if range.end > shortest.saturating_sub(layout.checksum_width()) {
            return refuse(
                name,
                format!("bytes {} to {} are beyond the shortest frame", range.start, range.end - 1),
                "correct `at`, or give the frame's whole length",
            );
        }
    }
    if layout.checksum.is_some_and(|checksum| checksum.from >= shortest) {
        return refuse(
            "checksum.from",
            "it is beyond the shortest frame".to_owned(),
            "write the first byte that is covered",
        );
    }
    let mut fields = head;
    fields.extend(sample_fields(layout));
    fields.sort_by_key(|(_, range)| range.start);
    let end = layout.frame_length(layout.at_most).saturating_sub(layout.checksum_width());
    if let Some((name, _)) = fields.iter().find(|(_, range)| range.end > end) {
        return refuse(
            name,
            format!("it reaches beyond the frame's {end} bytes (checksum not counted)"),
            "correct `at`, samples.size or length",
        );
    }
    for ((one, first), (other, second)) in fields.iter().zip(fields.iter().skip(1)) {
        if second.start < first.end {
            return refuse(
                other,
                format!("byte {} belongs to {one} too", second.start),
                "correct `at`, `type` or samples.size",
            );
        }
    }
    Ok(())
}

type Field = (&'static str, Range<usize>);

fn head_fields(layout: &StreamLayout) -> Vec<Field> {
    let field = |name, at: usize, width: usize| (name, at..at.saturating_add(width));
    let mut fields: Vec<Field> =
        layout.header.iter().map(|header| field("header", header.at, header.bytes.len())).collect();
    if let SampleNumber::CountByte { at } = layout.number {
        fields.push(field("samples.count_at", at, 1));
    }
    if let Some(counter) = layout.counter {
        fields.push(field("counter", counter.at, counter.word.width()));
    }
    if let Some(timestamp) = layout.timestamp {
        fields.push(field("timestamp", timestamp.at, timestamp.word.width()));
    }
    fields
}

/// Every axis of every sample of the longest frame.
fn sample_fields(layout: &StreamLayout) -> Vec<Field> {
    let quantities = [("accel", &layout.accel), ("gyro", &layout.gyro)];
    let mut fields = Vec::new();
    for sample in 0..layout.at_most {
        let start = layout.samples_at.saturating_add(sample.saturating_mul(layout.sample_size));
        for (name, triple) in quantities {
            let Some(triple) = triple else { continue };
            for at in triple.at {
                let at = start.saturating_add(at);
                fields.push((name, at..at.saturating_add(triple.number.width())));
            }
        }
    }
    fields
}
