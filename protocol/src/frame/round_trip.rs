//! Every layout there and back, and any bytes at all.

use proptest::prelude::*;

use super::*;
use crate::fuzz_bodies;
use crate::profile::{Profile, StreamLayout};
use crate::sample::{Flags, Values};

/// A profile the decoder has not been written for: every choice a `[[stream]]` offers.
fn any_layout() -> impl Strategy<Value = StreamLayout> {
    let number = prop_oneof![
        Just(("i8", 0.5, "")),
        Just(("i16", 0.001, "")),
        Just(("i24", 0.000_01, "")),
        Just(("i32", 0.000_000_1, "")),
        Just(("u8", 0.5, ", zero = 127")),
        Just(("u16", 0.001, ", zero = 32768")),
        Just(("u24", 0.000_01, ", zero = 8388608")),
        Just(("f32", 1.0, "")),
        Just(("f64", 1.0, "")),
    ];
    let axes = prop_oneof![
        Just(r#"["x", "y", "z"]"#),
        Just(r#"["y", "-x", "z"]"#),
        Just(r#"["-z", "y", "x"]"#),
    ];
    let word = prop_oneof![Just("u8"), Just("u16"), Just("u24"), Just("u32")];
    let samples =
        prop_oneof![Just("fixed = 3"), Just("count_at = 1, at_most = 7"), Just("at_most = 7"),];
    let checksum = prop_oneof![
        Just(""),
        Just(r#"checksum = { type = "sum8", from = 1 }"#),
        Just(r#"checksum = { type = "xor8" }"#),
        Just(r#"checksum = { type = "crc8" }"#),
        Just(r#"checksum = { type = "crc16-ccitt", from = 2, endian = "little" }"#),
    ];
    let signs = prop_oneof![Just(("up", "right-handed")), Just(("down", "left-handed")),];
    (number, axes, word, samples, checksum, signs, any::<bool>()).prop_map(
        |((number, scale, zero), axes, word, samples, checksum, (up, sense), big)| {
            let width = match number {
                "i8" | "u8" => 1,
                "i16" | "u16" => 2,
                "i24" | "u24" => 3,
                "f64" => 8,
                _ => 4,
            };
            let text = format!(
                r#"
name = "any"
rate_hz = 100
axes = {axes}
[match]
name_prefix = "any"
[[stream]]
characteristic = "00000000-0000-0000-0000-000000000001"
endian = "{endian}"
header = [{{ at = 0, bytes = "5A" }}]
samples = {{ at = 10, size = {size}, {samples} }}
counter = {{ at = 2, type = "{word}" }}
timestamp = {{ at = 6, type = "{word}", tick_s = 0.001 }}
{checksum}
accel = {{ at = 0, type = "{number}", unit = "m/s2", scale = {scale}{zero}, positive = "{up}" }}
gyro = {{ at = {gyro}, type = "{number}", unit = "rad/s", scale = {scale}{zero}, positive = "{sense}" }}
"#,
                endian = if big { "big" } else { "little" },
                size = 6 * width + 1,
                gyro = 3 * width,
            );
            Profile::parse("any.toml", &text).unwrap().streams()[0].clone()
        },
    )
}

fn any_values() -> impl Strategy<Value = Values> {
    let triple = || proptest::array::uniform3(-70.0..70.0_f64);
    (triple(), triple()).prop_map(|(accel_m_s2, gyro_rad_s)| Values {
        accel_m_s2,
        gyro_rad_s,
        flags: Flags::default(),
    })
}

/// Half a count, or the last bit of an f32; further only where the range clips.
fn assert_near(layout: &crate::profile::TripleLayout, sent: [f64; 3], got: Triple) {
    for (sent, got) in sent.into_iter().zip(got.values) {
        let clipped = sent.clamp(-layout.range_si(), layout.range_si());
        let tolerance =
            if layout.number().is_integer() { 0.5 * layout.scale_si() + 1e-12 } else { 1e-5 };
        assert!((clipped - got).abs() <= tolerance, "{sent} came back as {got}");
    }
}

proptest! {
    #[test]
    fn what_is_encoded_decodes_to_the_same(
        layout in any_layout(),
        samples in prop::collection::vec(any_values(), 3..=3),
        counter: u64,
        ticks: u64,
    ) {
        let mut bytes = Vec::new();
        layout.encode(&Outgoing { counter, ticks, samples: &samples }, &mut bytes).unwrap();
        let frame = layout.decode(&bytes).unwrap();
        let bits = layout.counter.unwrap().word.bits();
        prop_assert_eq!(frame.raw_counter(), Some(counter & ((1 << bits) - 1)));
        prop_assert_eq!(frame.raw_ticks(), Some(ticks & ((1 << bits) - 1)));
        prop_assert_eq!(frame.number(), 3);
        let mut again = Vec::new();
        for (sent, got) in samples.iter().zip(frame.samples()) {
            let (accel, gyro) = (reading(got.accel), reading(got.gyro));
            assert_near(layout.accel().unwrap(), sent.accel_m_s2, accel);
            assert_near(layout.gyro().unwrap(), sent.gyro_rad_s, gyro);
            if let Some(counts) = gyro.counts {
                let scale = layout.gyro().unwrap().scale_si();
                prop_assert_eq!(gyro.values, counts.map(|count| f64::from(count) * scale));
            }
            again.push(Values {
                accel_m_s2: accel.values,
                gyro_rad_s: gyro.values,
                flags: Flags::default(),
            });
        }
        let mut second = Vec::new();
        layout.encode(&Outgoing { counter, ticks, samples: &again }, &mut second).unwrap();
        prop_assert_eq!(bytes, second);
    }

    #[test]
    fn a_changed_byte_under_a_checksum_is_noticed(at in 1_usize..10, bit in 0_u8..8) {
        let text = include_str!("../../tests/profiles/split.toml");
        let profile = Profile::parse("split.toml", text).unwrap();
        let layout = &profile.streams()[0];
        let mut bytes = Vec::new();
        let samples = [Values::default(); 3];
        layout.encode(&Outgoing { counter: 3, ticks: 0, samples: &samples }, &mut bytes).unwrap();
        bytes[at] ^= 1 << bit;
        prop_assert_eq!(layout.decode(&bytes).unwrap_err().reason(), Reason::Checksum);
    }
}

proptest! {
    // H21 asks for a million payloads in CI: 20 layouts' worth of 50 000.
    #![proptest_config(ProptestConfig::with_cases(20))]

    #[test]
    fn no_payload_panics(layout in any_layout(), seed: u64) {
        let mut state = seed | 1;
        let mut bytes = Vec::new();
        for _ in 0..50_000 {
            random_payload(&layout, &mut state, &mut bytes);
            fuzz_bodies::decode(&layout, &bytes);
        }
    }
}

/// Fills `bytes` with random content of random length, every other time with the right header.
fn random_payload(layout: &StreamLayout, state: &mut u64, bytes: &mut Vec<u8>) {
    // xorshift64 (Marsaglia 2003), to be faster than generating each payload as a strategy.
    let mut random = || {
        *state ^= *state << 13;
        *state ^= *state >> 7;
        *state ^= *state << 17;
        *state
    };
    let length = (random() % 260) as usize;
    bytes.clear();
    while bytes.len() < length {
        bytes.extend(random().to_le_bytes());
    }
    bytes.truncate(length);
    if random() % 2 == 0 && length > 2 {
        bytes[0] = 0x5a;
        bytes[1] = (random() % 9) as u8;
        let whole = layout.frame_length(usize::from(bytes[1]));
        bytes.resize(whole, 7);
    }
}

proptest! {
    #[test]
    fn no_text_panics(text in "(name|rate_hz|\\[match\\]|\\[\\[stream\\]\\]|[a-z_]{1,9}|=|\\{|\\}|\"|[0-9.]{1,30}|\n| ){0,40}") {
        fuzz_bodies::profile(&text);
    }

    #[test]
    fn no_damaged_profile_panics(at in 0_usize..2000, byte in 32_u8..127) {
        let mut text = crate::profile::REFERENCE_TOML.to_owned().into_bytes();
        let length = text.len();
        text[at % length] = byte;
        fuzz_bodies::profile(&String::from_utf8(text).unwrap());
    }
}

fn reading(part: Part) -> Triple {
    match part {
        Part::Read(triple) => triple,
        other => panic!("{other:?}"),
    }
}
