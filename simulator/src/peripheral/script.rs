//! Faults with their times: a script that is played along a visit.

use super::fault::{Fault, FaultError};

/// Faults in order of time.
///
/// As text, a line is `TIME FAULT`: seconds of visit time, then a [`Fault`]. Without a time it is
/// there from the start. Empty lines and what follows a `#` are passed over.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Script {
    /// What is there before any sensor is found.
    pub(super) first: Vec<Fault>,
    /// Visit time, s, and what happens then; in order.
    pub(super) timed: Vec<(f64, Fault)>,
}

/// A line of a script that says nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {problem}")]
pub struct ScriptError {
    /// The script's name.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it.
    pub problem: FaultError,
}

impl Script {
    /// Reads a script; `file` only names it in errors.
    ///
    /// # Errors
    /// [`ScriptError`] for the first line that says no fault.
    pub fn parse(file: &str, text: &str) -> Result<Self, ScriptError> {
        let mut script = Self::default();
        for (index, line) in text.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default().trim();
            if line.is_empty() {
                continue;
            }
            let refuse = |problem| ScriptError { file: file.to_owned(), line: index + 1, problem };
            let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            match word.parse::<f64>() {
                Ok(time_s) if time_s.is_finite() => {
                    script.timed.push((time_s, rest.parse().map_err(refuse)?));
                }
                _ => script.first.push(line.parse().map_err(refuse)?),
            }
        }
        script.timed.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        Ok(script)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_sorted_by_time_and_those_without_come_first() {
        let text = "# a hard day\n20 adapter on\n\n12.5 adapter off # by mistake\nrefuse all 2\n";
        let script = Script::parse("hard.faults", text).unwrap();
        assert_eq!(script.first, ["refuse all 2".parse().unwrap()]);
        let times: Vec<f64> = script.timed.iter().map(|(time_s, _)| *time_s).collect();
        assert_eq!(times, [12.5, 20.0]);
    }

    #[test]
    fn a_bad_line_is_named() {
        let error = Script::parse("hard.faults", "1 adapter on\n2 adapter maybe\n").unwrap_err();
        let said = error.to_string();
        assert!(said.starts_with("hard.faults:2: 'adapter maybe'"), "{said}");
    }
}
