//! Telling another process, by a line on its stdin, that a simulated visit has begun.

use std::io::{self, BufRead};

use tokio::sync::oneshot;
use tokio_util::sync::CancellationToken;

use crate::clock;

/// The first word of the line; the second is when, by the clock that all processes share, s.
const BEGUN: &str = "begun";

/// The line that says when a visit's time zero is, by the shared clock, s. It may be told a moment
/// before.
pub(super) fn line(zero_s: f64) -> String {
    format!("{BEGUN} {zero_s:.6}")
}

/// Hears that line on stdin; gives how long ago it was, s (negative while it is still to come).
/// When stdin ends, whoever hosts the sensors has gone, and the program is asked to stop. The thread
/// that reads cannot be interrupted; it ends with the program.
pub(super) fn on_stdin(stop: CancellationToken) -> oneshot::Receiver<f64> {
    let (tell, begun) = oneshot::channel();
    std::thread::spawn(move || {
        let mut tell = Some(tell);
        for line in io::stdin().lock().lines().map_while(Result::ok) {
            if let Some(ago_s) = ago_s(&line)
                && let Some(tell) = tell.take()
            {
                // Nobody waits any more where the visit was stopped before it began.
                tell.send(ago_s).ok();
            }
        }
        stop.cancel();
    });
    begun
}

fn ago_s(line: &str) -> Option<f64> {
    let zero_s: f64 = line.trim().strip_prefix(BEGUN)?.trim().parse().ok()?;
    Some(clock::shared_s()? - zero_s).filter(|ago_s| ago_s.is_finite())
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_is_heard_as_so_long_ago() {
        let now_s = clock::shared_s().unwrap();
        let ago_s = ago_s(&line(now_s - 2.0)).unwrap();
        assert!((2.0..60.0).contains(&ago_s), "{ago_s}");
        for text in ["", "begun", "begun soon", "ended 1", "begun inf"] {
            assert_eq!(super::ago_s(text), None, "{text}");
        }
    }
}
