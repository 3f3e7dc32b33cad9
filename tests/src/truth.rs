//! Measured repetitions held against true ones.
//!
//! The rule is that of the scoring script kept beside the recordings: a measured repetition is a
//! true one if phase and direction are the same and its end range is dated between the start of the
//! movement and 0.6 s after the hold; of several, the one nearest to the start of the hold is taken.

use std::fs;
use std::path::Path;

use serde_json::Value;

/// How long after the hold an end range may still be dated, s.
const AFTER_HOLD_S: f64 = 0.6;

/// A repetition as it really was.
#[derive(Debug, Clone, PartialEq)]
pub struct True {
    /// `left` or `right`.
    pub side: String,
    /// `baseline` or `retest`.
    pub phase: String,
    /// `internal` or `external`.
    pub direction: String,
    /// How the end was reached, e.g. `held`, `touch`, `through`.
    pub style: String,
    /// Magnitude at the end, degrees.
    pub end_range_deg: f64,
    /// When the movement began, s.
    pub start_s: f64,
    /// When the hold began, s.
    pub hold_start_s: f64,
    /// How long it was held, s.
    pub hold_s: f64,
}

/// What came of holding one recording against the truth.
#[derive(Debug, Default)]
pub struct Score {
    /// Measured repetitions and the true ones they are.
    pub matched: Vec<(Value, True)>,
    /// True repetitions that were not measured.
    pub missed: Vec<True>,
    /// Measured repetitions that never were.
    pub invented: Vec<Value>,
}

/// Reads the `repetitions` of a `truth.json`. A repetition without a side has the file's own.
///
/// # Panics
/// When the file is not there or of another shape.
#[must_use]
pub fn read(file: &Path) -> Vec<True> {
    let text = fs::read_to_string(file).expect("the truth can be read");
    let truth: Value = serde_json::from_str(&text).expect("the truth is JSON");
    let one = |value: &Value| {
        let side = value.get("side").or_else(|| truth.get("side")).expect("a side");
        True { side: side.as_str().expect("a word").to_owned(), ..parse(value) }
    };
    truth["repetitions"].as_array().expect("a list").iter().map(one).collect()
}

/// Holds measured repetitions of one leg against the true ones of that leg.
#[must_use]
pub fn score(measured: &[Value], truth: &[True]) -> Score {
    let mut score = Score { invented: measured.to_vec(), ..Score::default() };
    for one in truth {
        let off = |value: &Value| (number(value, "end_range_at_s") - one.hold_start_s).abs();
        let nearest = (0..score.invented.len())
            .filter(|place| is_one(&score.invented[*place], one))
            .min_by(|a, b| off(&score.invented[*a]).total_cmp(&off(&score.invented[*b])));
        match nearest {
            Some(place) => score.matched.push((score.invented.remove(place), one.clone())),
            None => score.missed.push(one.clone()),
        }
    }
    score
}

impl Score {
    /// Measured minus true end range of each repetition, degrees.
    #[must_use]
    pub fn errors_deg(&self) -> Vec<f64> {
        let error =
            |(value, truth): &(Value, True)| number(value, "end_range_deg") - truth.end_range_deg;
        self.matched.iter().map(error).collect()
    }

    /// Fails unless every true repetition was found and none was invented.
    ///
    /// # Panics
    /// Then.
    pub fn assert_complete(&self, what: &str) {
        assert!(self.missed.is_empty(), "{what}: missed {:#?}", self.missed);
        assert!(self.invented.is_empty(), "{what}: invented {:#?}", self.invented);
        assert!(!self.matched.is_empty(), "{what}: there was nothing to find");
    }
}

/// A number in a JSON object.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} is not a number in {value}"))
}

/// Mean of the magnitudes.
#[must_use]
pub fn mean_abs(errors: &[f64]) -> f64 {
    errors.iter().map(|error| error.abs()).sum::<f64>() / errors.len() as f64
}

/// The greatest magnitude.
#[must_use]
pub fn max_abs(errors: &[f64]) -> f64 {
    errors.iter().fold(0.0, |max, error| error.abs().max(max))
}

fn is_one(measured: &Value, truth: &True) -> bool {
    let last_s = truth.hold_start_s + truth.hold_s + AFTER_HOLD_S;
    measured["phase"] == truth.phase
        && measured["direction"] == truth.direction
        && (truth.start_s..=last_s).contains(&number(measured, "end_range_at_s"))
}

fn parse(value: &Value) -> True {
    let word = |key: &str| value[key].as_str().unwrap_or_else(|| panic!("{key} in {value}"));
    True {
        side: String::new(),
        phase: word("phase").to_owned(),
        direction: word("direction").to_owned(),
        style: word("style").to_owned(),
        end_range_deg: number(value, "end_range_deg"),
        start_s: number(value, "start_s"),
        hold_start_s: number(value, "hold_start_s"),
        hold_s: number(value, "hold_s"),
    }
}
