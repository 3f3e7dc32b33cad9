//! What a fuzzer runs: plain functions of bytes that must come back, whatever the bytes are.
//!
//! The crate's own tests replay them with random and with damaged frames.

use crate::profile::{Profile, StreamLayout};

/// Decodes any bytes by a layout and reads all there is; panics only if the decoder is wrong.
pub fn decode(layout: &StreamLayout, bytes: &[u8]) {
    let Ok(frame) = layout.decode(bytes) else { return };
    assert_eq!(frame.samples().len(), frame.number());
    for sample in frame.samples() {
        std::hint::black_box(sample);
    }
    std::hint::black_box((frame.raw_counter(), frame.raw_ticks()));
}

/// Reads any text as a profile; panics only if the parser is wrong.
pub fn profile(text: &str) {
    if let Err(error) = Profile::parse("fuzz.toml", text) {
        assert!(error.line >= 1 && !error.field.is_empty() && !error.remedy.is_empty());
    }
}
