//! Why a profile was refused, and where in its text.

use std::ops::Range;

/// A profile that is refused: the file, the line, the field, what is wrong and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}, line {line}, {field}: {problem}: {remedy}")]
pub struct ProfileError {
    /// The file's name, as it was handed in.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The key the error is about, e.g. `stream.gyro.scale`.
    pub field: String,
    /// What is wrong.
    pub problem: String,
    /// What to do about it.
    pub remedy: String,
}

/// The text being read: turns a place in it into an error.
#[derive(Debug, Clone, Copy)]
pub(super) struct Source<'a> {
    pub(super) file: &'a str,
    pub(super) text: &'a str,
}

impl<'a> Source<'a> {
    pub(super) fn error(
        self,
        span: Range<usize>,
        field: &str,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) -> ProfileError {
        ProfileError {
            file: self.file.to_owned(),
            line: self.line(span.start),
            field: field.to_owned(),
            problem: problem.into(),
            remedy: remedy.into(),
        }
    }

    /// What the TOML reader refused: broken syntax, an unknown key, a value of the wrong type.
    pub(super) fn toml_error(self, mut error: toml::de::Error) -> ProfileError {
        let span = error.span().unwrap_or(0..0);
        let (problem, remedy) = match error.message().split_once(", expected ") {
            Some((problem, expected)) => (problem.to_owned(), format!("use {expected}")),
            None => (
                error.message().trim().replace('\n', ", "),
                "write it as the list of keys in profiles/README.md says".to_owned(),
            ),
        };
        // Without its input the error prints the path of keys it stands under, and only then.
        error.set_input(None);
        let printed = error.to_string();
        let path = printed.lines().find_map(|line| line.strip_prefix("in `")?.strip_suffix('`'));
        let field = match (path, named_key(&problem)) {
            (Some(path), Some(key)) => format!("{path}.{key}"),
            (Some(path), None) => path.to_owned(),
            (None, Some(key)) => key.to_owned(),
            (None, None) => self.key_at(span.start),
        };
        self.error(span, &field, problem, remedy)
    }

    fn line(self, offset: usize) -> usize {
        1 + self.before(offset).matches('\n').count()
    }

    /// The key written on the line of `offset`.
    fn key_at(self, offset: usize) -> String {
        let start = self.before(offset).rfind('\n').map_or(0, |newline| newline + 1);
        let line = self.text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("");
        match line.split('=').next().map(str::trim) {
            Some(key) if !key.is_empty() => key.to_owned(),
            _ => "profile".to_owned(),
        }
    }

    fn before(self, offset: usize) -> &'a str {
        self.text.get(..offset).unwrap_or(self.text)
    }
}

/// The key that the TOML reader says is unknown or missing.
fn named_key(problem: &str) -> Option<&str> {
    let quoted = problem
        .strip_prefix("unknown field `")
        .or_else(|| problem.strip_prefix("missing field `"))?;
    quoted.strip_suffix('`')
}
