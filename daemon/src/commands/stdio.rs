//! Answers to stdout, notes to stderr.

use std::io::{self, BufWriter, Write};

use serde::Serialize;

use crate::error::Failure;

/// Writes the answer to stdout.
///
/// # Errors
/// [`Failure::Stdout`], also for a closed pipe.
pub(super) fn answer(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    let mut out = BufWriter::new(io::stdout().lock());
    write(&mut out).and_then(|()| out.flush()).map_err(Failure::Stdout)
}

/// Writes the answer as one indented JSON value and a line feed. A number that is not finite
/// becomes null.
///
/// # Errors
/// [`Failure::Stdout`], also for a closed pipe.
pub(super) fn answer_json(value: &impl Serialize) -> Result<(), Failure> {
    answer(|out| {
        serde_json::to_writer_pretty(&mut *out, value)?;
        writeln!(out)
    })
}

/// A line for the person on stderr; nothing is left to do where stderr is closed.
pub(super) fn note(line: &str) {
    writeln!(io::stderr(), "{line}").ok();
}
