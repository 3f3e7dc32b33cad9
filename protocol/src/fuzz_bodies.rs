//! What a fuzzer runs: plain functions of bytes that must come back, whatever the bytes are.
//!
//! The crate's own tests replay them with random and with damaged frames.

use crate::profile::{Profile, StreamLayout};
use crate::stream::{Output, SensorStream};

/// Decodes any bytes by a layout and reads all there is; panics only if the decoder is wrong.
pub fn decode(layout: &StreamLayout, bytes: &[u8]) {
    let Ok(frame) = layout.decode(bytes) else { return };
    assert_eq!(frame.samples().len(), frame.number());
    for sample in frame.samples() {
        std::hint::black_box(sample);
    }
    std::hint::black_box((frame.raw_counter(), frame.raw_ticks()));
}

/// Hands notifications to a whole stream: 16 bits of time since the one before, in milliseconds,
/// the characteristic by its place, and the bytes. Panics only if the stream is wrong: readings
/// must be in order, and every sample must be accounted for.
pub fn stream(profile: &Profile, notifications: &[(u16, u8, Vec<u8>)]) {
    let mut stream = SensorStream::new(profile);
    let mut out = Vec::new();
    let mut arrival_s = 0.0;
    for (waited_ms, place, bytes) in notifications {
        arrival_s += f64::from(*waited_ms) * 1e-3;
        let layout = profile.streams().get(usize::from(*place) % profile.streams().len().max(1));
        if let Some(layout) = layout {
            stream.push(arrival_s, layout.characteristic(), bytes, &mut out);
        }
        if *place > 250 {
            stream.restart(arrival_s);
        }
    }
    stream.flush(&mut out);
    check_outputs(&out, &stream);
}

fn check_outputs(out: &[Output], stream: &SensorStream) {
    let mut last_s = f64::NEG_INFINITY;
    let (mut received, mut malformed) = (0, 0);
    for output in out {
        match output {
            Output::Reading(reading) => {
                assert!(reading.sample.time_s > last_s && reading.sample.time_s.is_finite());
                last_s = reading.sample.time_s;
                received += 1;
            }
            Output::Gap(gap) => assert!(gap.to_s > gap.from_s && gap.from_s == last_s),
            Output::Malformed { .. } => malformed += 1,
        }
    }
    assert_eq!(stream.counters().received, received);
    assert_eq!(stream.counters().malformed, malformed);
    assert_eq!(stream.malformed_by_reason().map(|(_, count)| count).sum::<u64>(), malformed);
}

/// Reads any text as a profile; panics only if the parser is wrong.
pub fn profile(text: &str) {
    if let Err(error) = Profile::parse("fuzz.toml", text) {
        assert!(error.line >= 1 && !error.field.is_empty() && !error.remedy.is_empty());
    }
}
