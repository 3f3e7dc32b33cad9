//! Hearing on stdin that a simulated visit has begun.

use std::io::{self, BufRead};

use tokio::sync::oneshot;
use tokio_util::sync::CancellationToken;

/// The line that is said at the visit's time zero.
pub(super) const BEGUN: &str = "begun";

/// Hears the line [`BEGUN`] on stdin. When stdin ends, whoever hosts the sensors has gone, and the
/// program is asked to stop. The thread that reads cannot be interrupted; it ends with the program.
pub(super) fn on_stdin(stop: CancellationToken) -> oneshot::Receiver<()> {
    let (tell, begun) = oneshot::channel();
    std::thread::spawn(move || {
        let mut tell = Some(tell);
        for line in io::stdin().lock().lines().map_while(Result::ok) {
            if line.trim() == BEGUN
                && let Some(tell) = tell.take()
            {
                // Nobody waits any more where the visit was stopped before it began.
                tell.send(()).ok();
            }
        }
        stop.cancel();
    });
    begun
}
