//! Known bytes, malformed bytes, and what an encoder must not do.

use uuid::Uuid;

use super::*;
use crate::profile::{Profile, StreamLayout};
use crate::sample::{Flags, Values};

fn reference() -> StreamLayout {
    Profile::reference().streams()[0].clone()
}

/// A frame of the reference profile whose samples hold the given counts.
fn frame_of(samples: &[[i16; 6]], counter: u16, ticks: u32) -> Vec<u8> {
    let mut bytes = vec![0xa1, samples.len() as u8];
    bytes.extend(counter.to_le_bytes());
    bytes.extend(ticks.to_le_bytes());
    bytes.extend(samples.iter().flatten().flat_map(|count| count.to_le_bytes()));
    bytes
}

fn read(part: Part) -> Triple {
    match part {
        Part::Read(triple) => triple,
        other => panic!("{other:?}"),
    }
}

/// H21: 10 27, FC FF and 00 80 are 10000, -4 and -32768.
#[test]
fn known_bytes_are_known_counts() {
    let layout = reference();
    let bytes = [
        0xa1, 1, 0x39, 0x30, 0x15, 0xcd, 0x5b, 0x07, // counter 12345, ticks 123456789
        0x10, 0x27, 0xfc, 0xff, 0x00, 0x80, 0x00, 0x20, 0x00, 0x00, 0x01, 0x00,
    ];
    let frame = layout.decode(&bytes).unwrap();
    assert_eq!(frame.raw_counter(), Some(12_345));
    assert_eq!(frame.raw_ticks(), Some(123_456_789));
    let sample = frame.samples().next().unwrap();
    let accel = read(sample.accel);
    assert_eq!(accel.counts, Some([10_000, -4, -32_768]));
    assert!(accel.saturated);
    let gyro = read(sample.gyro);
    assert_eq!(gyro.counts, Some([8192, 0, 1]));
    // 8192 counts are a quarter of the range: 125 deg/s.
    assert!((gyro.values[0].to_degrees() - 125.0).abs() < 1e-9);
    assert!(!gyro.saturated);
}

/// H20: a frame of 32 bytes cut at 20, and what follows starting with a header of its own.
#[test]
fn a_frame_cut_by_the_link_says_so() {
    let layout = reference();
    let whole = frame_of(&[[1; 6], [2; 6]], 7, 70_000);
    assert_eq!(whole.len(), 32);
    let error = layout.decode(&whole[..20]).unwrap_err();
    assert_eq!(error, DecodeError::PacketSizeTooSmall { got: 20, expected: 32 });
    assert!(error.to_string().starts_with("link packet size too small: 20 bytes"));
    let next = frame_of(&[[3; 6], [4; 6]], 9, 90_000);
    assert_eq!(layout.decode(&next[..20]).unwrap_err().reason(), Reason::PacketSize);
}

/// H21: every malformed length and number of samples is an error of its kind.
#[test]
fn malformed_frames_are_typed_errors() {
    let layout = reference();
    let reason = |bytes: &[u8]| layout.decode(bytes).unwrap_err().reason();
    for length in [0, 1, 3, 7] {
        assert_eq!(reason(&vec![0xa1; length]), Reason::Length);
    }
    assert_eq!(reason(&[0xa1, 1, 0, 0, 0, 0, 0, 0]), Reason::Length);
    let one = frame_of(&[[5; 6]], 0, 0);
    let with_count = |count: u8| {
        let mut bytes = one.clone();
        bytes[1] = count;
        bytes
    };
    assert_eq!(reason(&with_count(0)), Reason::SampleCount);
    assert_eq!(reason(&with_count(255)), Reason::SampleCount);
    let glued = [one.clone(), one].concat();
    assert_eq!(glued.len(), 40);
    assert_eq!(reason(&glued), Reason::Length);
    assert_eq!(reason(&[0xff; 244]), Reason::Header);
}

/// H07 (c): gyroscope -32768 three times and accelerometer zero is "no data", not -500 deg/s.
#[test]
fn a_no_data_marker_is_no_reading() {
    let layout = reference();
    let bytes = frame_of(&[[0, 0, 0, i16::MIN, i16::MIN, i16::MIN]], 0, 0);
    let frame = layout.decode(&bytes).unwrap();
    let sample = frame.samples().next().unwrap();
    assert_eq!(sample, RawSample { accel: Part::NoData, gyro: Part::NoData });
    let one_axis = frame_of(&[[0, 0, 1, i16::MIN, 0, 0]], 0, 0);
    let sample = layout.decode(&one_axis).unwrap().samples().next().unwrap();
    assert_eq!(read(sample.gyro).counts, Some([-32_768, 0, 0]));
}

/// H14: readings at the end of the range are flagged, on either side.
#[test]
fn the_end_of_the_range_is_saturated() {
    let layout = reference();
    for (count, saturated) in [(32_767, true), (-32_767, true), (32_766, false), (-32_766, false)] {
        let bytes = frame_of(&[[0, 0, 8192, 0, count, 0]], 0, 0);
        let sample = layout.decode(&bytes).unwrap().samples().next().unwrap();
        assert_eq!(read(sample.gyro).saturated, saturated, "{count}");
        assert!(!read(sample.accel).saturated);
    }
}

#[test]
fn what_is_not_finite_is_written_as_no_data_and_true_zero_is_not() {
    let layout = reference();
    let mut bytes = Vec::new();
    let still = Values { accel_m_s2: [0.0; 3], gyro_rad_s: [0.0; 3], flags: Flags::default() };
    let nothing = Values { gyro_rad_s: [f64::NAN; 3], ..still };
    layout
        .encode(&Outgoing { counter: 0, ticks: 0, samples: &[still, nothing] }, &mut bytes)
        .unwrap();
    let samples: Vec<_> = layout.decode(&bytes).unwrap().samples().collect();
    assert_eq!(read(samples[0].accel).counts, Some([1, 0, 0]));
    assert_eq!(read(samples[0].gyro).counts, Some([0, 0, 0]));
    assert_eq!(samples[1].gyro, Part::NoData);
}

#[test]
fn too_many_samples_do_not_make_a_frame() {
    let layout = reference();
    let mut bytes = vec![1];
    let error = layout
        .encode(&Outgoing { counter: 0, ticks: 0, samples: &[Values::default(); 20] }, &mut bytes)
        .unwrap_err();
    assert_eq!(error, EncodeError::SampleCount { got: 20, at_least: 1, at_most: 19 });
    assert!(bytes.is_empty());
}

#[test]
fn an_unknown_characteristic_has_its_own_reason() {
    let error = DecodeError::UnknownCharacteristic(Uuid::nil());
    assert_eq!(error.reason(), Reason::UnknownCharacteristic);
}
