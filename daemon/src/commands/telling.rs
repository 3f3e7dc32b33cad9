//! Telling what happens in a visit, line by line as it comes.

use std::io::{self, Write};

use tokio::sync::mpsc;
use tokio::task::JoinHandle;

use crate::visit::Announcement;

/// Where the lines go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Out {
    /// They are the answer.
    Stdout,
    /// The answer is something else, or comes later.
    Stderr,
}

impl Out {
    /// Writes a line. Who closed the pipe has heard enough: the visit goes on without.
    pub(super) fn line(self, line: &str) {
        match self {
            Self::Stdout => writeln!(io::stdout(), "{line}").ok(),
            Self::Stderr => writeln!(io::stderr(), "{line}").ok(),
        };
    }
}

/// Tells each line with its visit time, until none comes any more. Writing may block, so it has a
/// thread of its own.
pub(super) fn tell(mut lines: mpsc::Receiver<Announcement>, out: Out) -> JoinHandle<()> {
    tokio::task::spawn_blocking(move || {
        while let Some(Announcement { time_s, line }) = lines.blocking_recv() {
            out.line(&format!("{}  {line}", minutes(time_s)));
        }
    })
}

/// Visit time as minutes and seconds.
fn minutes(time_s: f64) -> String {
    // The cast saturates; a visit has no negative time.
    let seconds = time_s.max(0.0) as u64;
    format!("{:>2}:{:02}", seconds / 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_minutes_and_whole_seconds_gone_by() {
        assert_eq!(minutes(0.0), " 0:00");
        assert_eq!(minutes(59.99), " 0:59");
        assert_eq!(minutes(605.2), "10:05");
    }
}
