//! Keys of rows, and the codes people and raters go by.

use std::fmt;
use std::num::ParseIntError;
use std::str::FromStr;

/// Defines the key of a kind of row. Keys are never used again, and count up in the order of
/// storing; outside they are strings.
macro_rules! id {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub(super) i64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = ParseIntError;

            fn from_str(text: &str) -> Result<Self, ParseIntError> {
                text.parse().map(Self)
            }
        }
    };
}

id! {
    /// The key of a visit.
    VisitId
}

id! {
    /// The key of a repetition.
    RepetitionId
}

id! {
    /// The key of a phase span.
    SpanId
}

/// Longest code, in characters; the database holds the same limit.
const CODE_MAX_CHARS: usize = 32;

/// The code a person or rater goes by, such as `P-014`: 1 to 32 ASCII letters, digits, `-`, `_` or
/// `.`, beginning with a letter or digit, so that it can stand in a file name and a table cell as
/// it is. Upper and lower case are kept, but do not make a different person.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Code(String);

impl Code {
    /// The code as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for Code {
    type Err = InvalidCode;

    fn from_str(text: &str) -> Result<Self, InvalidCode> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
        let well_formed = text.starts_with(|c: char| c.is_ascii_alphanumeric())
            && text.chars().all(allowed)
            && text.len() <= CODE_MAX_CHARS;
        if well_formed {
            Ok(Self(text.to_owned()))
        } else {
            Err(InvalidCode { got: text.to_owned() })
        }
    }
}

/// A text that cannot be a code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "'{got}' cannot be a code: use 1 to {CODE_MAX_CHARS} letters (a-z), digits, '-', '_' or '.', \
     beginning with a letter or digit, and never a name"
)]
pub struct InvalidCode {
    got: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_kept_as_it_was_given() {
        assert_eq!("P-014".parse::<Code>().unwrap().as_str(), "P-014");
        assert_eq!("7".parse::<Code>().unwrap().to_string(), "7");
    }

    #[test]
    fn what_cannot_stand_in_a_file_name_or_cell_is_refused() {
        for text in ["", "-lat", "=1+1", "Jo Doe", "../x", "Zoë", &"x".repeat(33)] {
            let error = text.parse::<Code>().unwrap_err().to_string();
            assert!(error.contains("cannot be a code"), "{text}: {error}");
        }
    }

    #[test]
    fn ids_are_strings_outside() {
        assert_eq!("12".parse::<VisitId>().unwrap().to_string(), "12");
        assert!("twelve".parse::<VisitId>().is_err());
    }
}
