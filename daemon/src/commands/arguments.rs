//! Words and numbers that several commands take on the command line.

use clap::builder::{PossibleValuesParser, TypedValueParser};
use endarc_protocol::words::TestKind;

/// A table's sideways tilt on the command line, degrees.
pub(super) fn tilt(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(tilt) if tilt.abs() <= STEEPEST_TILT_DEG => Ok(tilt),
        Ok(_) => Err(format!("a table tilts by no more than {STEEPEST_TILT_DEG}°")),
        Err(error) => Err(error.to_string()),
    }
}

const STEEPEST_TILT_DEG: f64 = 15.0;

/// A test's name on the command line.
pub(super) fn test_parser() -> impl TypedValueParser<Value = TestKind> {
    let words = TestKind::ALL.iter().map(|word| word.as_str());
    PossibleValuesParser::new(words).try_map(|text| text.parse::<TestKind>())
}
