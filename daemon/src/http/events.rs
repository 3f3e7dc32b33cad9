//! The live stream as Server-Sent Events.
//!
//! Each viewer looks at the one newest state, at most thirty times a second. There is no queue
//! behind a viewer: one that is slow, or hidden behind another tab, misses states and is then shown
//! the newest, and the sender of the states never waits for anyone.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive, KeepAliveStream};
use futures::stream::{self, Stream};
use tokio::sync::{OwnedSemaphorePermit, watch};
use tokio::time::{Interval, MissedTickBehavior, interval};
use tokio_util::sync::CancellationToken;

use crate::live::LiveState;
use crate::meters::{Meters, Way};

/// Shortest time between two events: at most thirty a second.
const SPACING: Duration = Duration::from_millis(34);

/// A comment line is sent after this much silence, so that a dead connection is noticed.
const KEEP_ALIVE: Duration = Duration::from_secs(2);

/// What the browser waits before it comes back after a lost connection.
const RETRY: Duration = Duration::from_secs(1);

/// One viewer's stream: the present state at once, then each newest one until `stop`.
pub(super) fn live_events(
    live: watch::Receiver<Arc<LiveState>>,
    meters: Meters,
    stop: CancellationToken,
    place: OwnedSemaphorePermit,
) -> Sse<KeepAliveStream<impl Stream<Item = Result<Event, Infallible>>>> {
    let viewer = Viewer::new(live, meters, stop, place);
    let events = stream::unfold(viewer, |mut viewer| async {
        let event = viewer.next().await?;
        Some((Ok(event), viewer))
    });
    Sse::new(events).keep_alive(KeepAlive::new().interval(KEEP_ALIVE).text("still here"))
}

/// One viewer's place in the stream.
struct Viewer {
    live: watch::Receiver<Arc<LiveState>>,
    meters: Meters,
    stop: CancellationToken,
    pace: Interval,
    /// Given back when the connection ends.
    _place: OwnedSemaphorePermit,
}

impl Viewer {
    fn new(
        mut live: watch::Receiver<Arc<LiveState>>,
        meters: Meters,
        stop: CancellationToken,
        place: OwnedSemaphorePermit,
    ) -> Self {
        live.mark_changed();
        let mut pace = interval(SPACING);
        pace.set_missed_tick_behavior(MissedTickBehavior::Delay);
        Self { live, meters, stop, pace, _place: place }
    }

    /// The next event; `None` once the daemon stops.
    async fn next(&mut self) -> Option<Event> {
        let stop = self.stop.clone();
        stop.run_until_cancelled(async {
            self.pace.tick().await;
            if self.live.changed().await.is_err() {
                // Nobody makes states any more; the last one stays on the page until the daemon
                // stops. Ending here would only make the browser come back each second.
                std::future::pending::<()>().await;
            }
            let state = Arc::clone(&self.live.borrow_and_update());
            let event = event_of(&state);
            if let Some(arrived_s) = state.newest_at_s {
                self.meters.reached(Way::Page, arrived_s);
            }
            event
        })
        .await
    }
}

/// A state as an event; its id is the state's sequence number.
fn event_of(state: &LiveState) -> Event {
    let event = Event::default().id(state.sequence.to_string()).retry(RETRY);
    event.json_data(state).unwrap_or_else(|error| {
        // Every field is a plain value, so this is not expected; the stream goes on all the same.
        tracing::error!("a live state could not be written as JSON: {error}");
        Event::default().comment("a state could not be written")
    })
}
