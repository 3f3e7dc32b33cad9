//! A reliability study's file.
//!
//! ```json
//! {
//!   "name": "our clinic, 2026",
//!   "covers": "new-strap",
//!   "sem_deg": 1.4,
//!   "degrees_of_freedom": 24,
//!   "repetitions": 3,
//!   "scatter_deg": 1.5
//! }
//! ```

use std::num::NonZeroUsize;
use std::path::Path;

use endarc_analysis::statistics::Sem;
use endarc_analysis::verdict::{Covers, ReliabilityStudy};
use serde::Deserialize;

use super::input;
use crate::error::Failure;

/// What the file holds.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    /// What it is called where a limit is told.
    name: String,
    covers: CoversWord,
    /// Standard error of one measurement, degrees.
    sem_deg: f64,
    /// Of that error: (subjects − 1) × (measurements − 1).
    degrees_of_freedom: f64,
    /// How many repetitions made one measurement.
    repetitions: NonZeroUsize,
    /// Standard deviation of single repetitions within a measurement, degrees.
    scatter_deg: f64,
}

/// What it repeated between two measurements.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum CoversWord {
    SameStrap,
    NewStrap,
    OtherDay,
}

/// Reads it.
///
/// # Errors
/// When it cannot be read, is no such JSON, or holds no study.
pub(super) fn read(file: &Path) -> Result<ReliabilityStudy, Failure> {
    parse(&input::text(file)?).map_err(|error| Failure::at(file, error))
}

fn parse(text: &str) -> Result<ReliabilityStudy, String> {
    let file: File = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let sem = |deg| Sem::new(deg).map_err(|error| error.to_string());
    let covers = match file.covers {
        CoversWord::SameStrap => Covers::SameStrap,
        CoversWord::NewStrap => Covers::NewStrap,
        CoversWord::OtherDay => Covers::OtherDay,
    };
    let error = (sem(file.sem_deg)?, file.degrees_of_freedom);
    let repeated = (file.repetitions, sem(file.scatter_deg)?);
    ReliabilityStudy::new(&file.name, covers, error, repeated).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    const STUDY: &str = r#"{ "name": "ours", "covers": "new-strap", "sem_deg": 1.4,
        "degrees_of_freedom": 24, "repetitions": 3, "scatter_deg": 1.5 }"#;

    #[test]
    fn a_study_is_read_and_a_wrong_one_says_what_is_wrong() {
        let study = parse(STUDY).unwrap();
        assert_eq!((study.name(), study.covers()), ("ours", Covers::NewStrap));
        assert!((study.sem().value() - 1.4).abs() < 1e-12);
        for (from, to, said) in [
            ("1.4", "-1.4", "must be finite and not negative"),
            ("1.4", "0", "is no result"),
            ("24", "0", "at least 1 is needed"),
            ("new-strap", "old-strap", "unknown variant"),
            ("sem_deg", "sem", "unknown field"),
            (": 3", ": 0", "nonzero"),
        ] {
            let error = parse(&STUDY.replace(from, to)).unwrap_err();
            assert!(error.contains(said), "{error}");
        }
    }
}
