//! How far an export has come, on one line of a terminal.

use std::io::{self, IsTerminal, Write};

use crate::clock::Monotonic;

/// How often the line is written anew at most, s.
const REFRESH_S: f64 = 0.1;

/// Signs of the bar.
const BAR: usize = 30;

/// A line on stderr that tells how far something has come; silent where stderr is no terminal.
#[derive(Debug)]
pub struct Progress {
    shown: bool,
    began: Monotonic,
    told_s: f64,
    done: usize,
    total: usize,
}

impl Progress {
    /// Of so many steps.
    #[must_use]
    pub fn of(total: usize) -> Self {
        let shown = io::stderr().is_terminal();
        Self { shown, began: Monotonic::start(), told_s: f64::NEG_INFINITY, done: 0, total }
    }

    /// One step more is done.
    pub fn step(&mut self) {
        self.done += 1;
        let now_s = self.began.now_s();
        if self.shown && (now_s - self.told_s >= REFRESH_S || self.done == self.total) {
            self.told_s = now_s;
            write!(io::stderr(), "\r\x1b[K{}", line(self.done, self.total, now_s)).ok();
        }
    }

    /// Takes the line away.
    pub fn end(self) {
        if self.shown {
            write!(io::stderr(), "\r\x1b[K").ok();
        }
    }
}

fn line(done: usize, total: usize, after_s: f64) -> String {
    let total = total.max(done).max(1);
    let full = BAR * done / total;
    let bar = format!("{}{}", "=".repeat(full), " ".repeat(BAR - full));
    let left_s = after_s / done.max(1) as f64 * (total - done) as f64;
    format!("[{bar}] {done} of {total}, {left_s:.0} s left")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_tells_what_is_left() {
        let bar = format!("[{}{}]", "=".repeat(15), " ".repeat(15));
        assert_eq!(line(5, 10, 20.0), format!("{bar} 5 of 10, 20 s left"));
        assert!(line(3, 0, 1.0).ends_with("3 of 3, 0 s left"));
    }
}
