//! What a profile may say, and how a wrong one is refused.

use super::*;

/// A small valid profile, to be spoilt in one place by each case.
const SMALL: &str = r#"
name = "small"
rate_hz = 50
axes = ["x", "y", "z"]

[match]
name_prefix = "S"

[[stream]]
characteristic = "00000000-0000-0000-0000-000000000001"
endian = "big"
header = [{ at = 0, bytes = "55 01" }]
samples = { at = 4, size = 12, fixed = 2 }
counter = { at = 2, type = "u8" }
checksum = { type = "sum8" }
accel = { at = 0, type = "i16", unit = "m/s2", scale = 0.01, range = 156.8 }
gyro = { at = 6, type = "i16", unit = "rad/s", scale = 0.001 }
"#;

/// Replaces `from`, which must be there, and returns the error's parts.
fn spoilt(from: &str, to: &str) -> ProfileError {
    assert!(SMALL.contains(from), "{from}");
    Profile::parse("small.toml", &SMALL.replacen(from, to, 1)).unwrap_err()
}

#[test]
fn a_small_profile_is_read() {
    let profile = Profile::parse("small.toml", SMALL).unwrap();
    assert_eq!(profile.name(), "small");
    assert_eq!(profile.rate_hz(), 50.0);
    let stream = profile.stream(Uuid::from_u128(1)).unwrap();
    assert_eq!(stream.frame_length(2), 4 + 24 + 1);
    assert_eq!(stream.at_most(), 2);
    assert_eq!(profile.accel_scale_m_s2(), Some(0.01));
    assert_eq!(profile.accel().unwrap().range_si(), 156.8);
    assert_eq!(profile.gyro().unwrap().range_si(), 32.767);
}

#[test]
fn the_reference_profile_is_what_its_page_says() {
    let profile = Profile::reference();
    let [stream] = profile.streams() else { panic!("one stream") };
    assert_eq!(stream.frame_length(1), 20);
    assert_eq!(stream.frame_length(2), 32);
    assert_eq!(stream.frame_length(19), 236);
    assert_eq!(stream.usual(), 5);
    assert_eq!(profile.accel_scale_m_s2(), Some(4.0 * 9.80665 / 32768.0));
    let gyro = profile.gyro_scale_rad_s().unwrap();
    assert!((gyro - 500_f64.to_radians() / 32768.0).abs() < 1e-18);
    assert_eq!(profile.rates().len(), 3);
    assert!(profile.matching().service() == stream.service());
}

#[test]
fn an_unknown_key_is_refused_with_what_is_allowed() {
    let error = spoilt("counter =", "sequence =");
    assert_eq!(error.line, 14);
    assert!(error.field.contains("sequence"), "{error}");
    assert!(error.problem.contains("unknown field"), "{error}");
    assert!(error.remedy.contains("`counter`"), "{error}");
    let error = spoilt("range = 156.8", "rnage = 156.8");
    assert_eq!(error.line, 16);
    assert!(error.remedy.contains("`range`"), "{error}");
}

#[test]
fn a_value_of_the_wrong_kind_names_its_line() {
    let error = spoilt("\"i16\", unit = \"m/s2\"", "\"i12\", unit = \"m/s2\"");
    assert_eq!((error.file.as_str(), error.line), ("small.toml", 16));
    assert!(error.remedy.contains("`i16`"), "{error}");
    assert_eq!(spoilt("rate_hz = 50", "rate_hz = \"fast\"").line, 3);
    assert_eq!(spoilt("rate_hz = 50", "rate_hz = -50").line, 3);
    assert_eq!(spoilt("rate_hz = 50", "rate_hz = nan").field, "rate_hz");
    assert_eq!(spoilt("[match]", "[match").line, 6);
    assert!(Profile::parse("empty.toml", "").unwrap_err().to_string().contains("missing field"));
}

/// H18: maps with determinant -1 are refused when the profile is read.
#[test]
fn a_mirrored_frame_is_refused() {
    for axes in [r#"["x", "y", "-z"]"#, r#"["y", "x", "z"]"#] {
        let error = spoilt(r#"["x", "y", "z"]"#, axes);
        assert_eq!((error.line, error.field.as_str()), (4, "axes"));
        assert!(error.problem.contains("determinant -1"), "{error}");
    }
    let own = "range = 156.8, axes = [\"y\", \"x\", \"z\"]";
    assert_eq!(spoilt("range = 156.8", own).field, "stream.accel.axes");
}

#[test]
fn fields_must_fit_and_not_overlap() {
    assert!(spoilt("at = 2, type = \"u8\"", "at = 3, type = \"u16\"").problem.contains("byte 4"));
    assert!(spoilt("at = 2, type = \"u8\"", "at = 1, type = \"u8\"").problem.contains("byte 1"));
    assert_eq!(spoilt("at = 2, type = \"u8\"", "at = 28, type = \"u8\"").field, "stream.counter");
    assert_eq!(spoilt("gyro = { at = 6", "gyro = { at = 5").field, "stream.gyro");
    assert_eq!(spoilt("size = 12", "size = 11").field, "stream.gyro");
    let huge = "samples = { at = 9223372036854775807, size = 12, fixed = 2 }";
    assert!(spoilt("samples = { at = 4, size = 12, fixed = 2 }", huge).problem.contains("longer"));
}

#[test]
fn numbers_that_make_no_sense_are_refused() {
    assert_eq!(spoilt("scale = 0.01", "scale = 0.0").field, "stream.accel.scale");
    assert_eq!(spoilt("scale = 0.01", "scale = 200.0").field, "stream.accel.scale");
    assert_eq!(spoilt("\"m/s2\"", "\"deg/s\"").field, "stream.accel.unit");
    assert!(spoilt("\"m/s2\"", "\"deg/s\"").remedy.contains("m/s2 or g"));
    assert_eq!(spoilt("\"i16\", unit = \"m", "\"u16\", unit = \"m").field, "stream.accel.zero");
    assert_eq!(spoilt("fixed = 2", "fixed = 0").field, "stream.samples.at_most");
    assert_eq!(spoilt("fixed = 2", "fixed = 2, count_at = 3").field, "stream.samples.fixed");
    assert_eq!(spoilt("55 01", "55 0").field, "stream.header.bytes");
    assert_eq!(spoilt("name_prefix = \"S\"", "").field, "match");
    assert!(spoilt("00000000-0000", "0000").remedy.contains("128 bits"));
}

#[test]
fn both_quantities_are_needed_once() {
    let gyro = r#"gyro = { at = 6, type = "i16", unit = "rad/s", scale = 0.001 }"#;
    assert_eq!(spoilt(gyro, "").field, "stream.gyro");
    let second = format!(
        "{gyro}\n[[stream]]\ncharacteristic = \"00000000-0000-0000-0000-000000000002\"\nendian = \"big\"\nsamples = {{ at = 0, size = 12, fixed = 1 }}\n{gyro}"
    );
    assert!(spoilt(gyro, &second).problem.contains("described twice"));
}
