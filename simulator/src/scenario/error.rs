//! Why a scenario was refused.

use std::ops::Range;

/// A scenario's text is not one: names the file, the line, the field and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}, line {line}: {field}: {problem}")]
pub struct ScenarioError {
    /// The file's name as given to [`Scenario::parse`](super::Scenario::parse).
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The key or table that is wrong.
    pub field: String,
    /// What is wrong with it and what would be right.
    pub problem: String,
}

/// The text being parsed: turns positions into lines and fields.
#[derive(Debug, Clone, Copy)]
pub(super) struct Source<'a> {
    pub(super) file: &'a str,
    pub(super) text: &'a str,
}

impl Source<'_> {
    /// The error at a place of the text.
    pub(super) fn error(&self, at: Range<usize>, field: &str, problem: String) -> ScenarioError {
        let before = self.text.get(..at.start).unwrap_or(self.text);
        ScenarioError {
            file: self.file.to_owned(),
            line: before.matches('\n').count() + 1,
            field: field.to_owned(),
            problem,
        }
    }

    /// What the TOML reader refused.
    pub(super) fn toml_error(&self, error: &toml::de::Error) -> ScenarioError {
        let at = error.span().unwrap_or(0..0);
        self.error(at.clone(), &self.field_at(&at), error.message().to_owned())
    }

    /// The key whose value begins at a place, or the text of the place itself: a key that is not
    /// known, a table that lacks something.
    fn field_at(&self, at: &Range<usize>) -> String {
        let before = self.text.get(..at.start).unwrap_or_default().trim_end();
        let key = before.strip_suffix('=').map(|rest| {
            let rest = rest.trim_end();
            rest.rsplit(|c: char| c.is_whitespace() || "{,.[".contains(c)).next().unwrap_or(rest)
        });
        let here = self.text.get(at.clone()).unwrap_or_default();
        let here = here.lines().next().unwrap_or_default().trim();
        key.unwrap_or(if here.is_empty() { "scenario" } else { here }).to_owned()
    }
}
