//! What `--source` was told: which source, and where it lies.

use std::path::PathBuf;
use std::str::FromStr;

/// Which source, as text: `sim:clinic`, `sim:FILE.toml` or `replay:DIR`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SourceSpec {
    /// The simulated clinic visit that ships with the program.
    SimClinic,
    /// A simulated visit from a scenario file.
    Sim(PathBuf),
    /// A folder with a recording.
    Replay(PathBuf),
}

/// A text that names no source.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not a source: write sim:clinic, sim:SCENARIO.toml or replay:DIR")]
pub struct UnknownSource(String);

impl FromStr for SourceSpec {
    type Err = UnknownSource;

    fn from_str(text: &str) -> Result<Self, UnknownSource> {
        match text.split_once(':') {
            Some(("sim", "clinic")) => Ok(Self::SimClinic),
            Some(("sim", file)) if !file.is_empty() => Ok(Self::Sim(file.into())),
            Some(("replay", folder)) if !folder.is_empty() => Ok(Self::Replay(folder.into())),
            _ => Err(UnknownSource(text.to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_of_source_is_told_by_its_word() {
        assert_eq!("sim:clinic".parse(), Ok(SourceSpec::SimClinic));
        assert_eq!("sim:a/b.toml".parse(), Ok(SourceSpec::Sim("a/b.toml".into())));
        assert_eq!("replay:C:\\rec".parse(), Ok(SourceSpec::Replay("C:\\rec".into())));
    }

    #[test]
    fn what_is_no_source_names_those_there_are() {
        for text in ["", "sim", "sim:", "replay:", "ble:00", "clinic.toml"] {
            let error = text.parse::<SourceSpec>().unwrap_err().to_string();
            assert!(error.contains("sim:clinic"), "{error}");
            assert!(error.contains("replay:DIR"), "{error}");
        }
    }
}
