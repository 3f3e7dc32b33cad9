//! Where samples come from: one ordered stream of events per source.
//!
//! A source is played by [`Source::play`] into a bounded queue. Time is what comes with the events;
//! the pace only says when they are handed on.

mod decoder;
mod event;
mod pace;
mod replay;
mod sim;
mod spec;

use std::fmt;

use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use crate::clock::Monotonic;

pub use decoder::Decoder;
pub use event::{SourceEvent, SourceInfo, SourceSensor};
pub use pace::{Pace, Pacer};
pub use replay::{ReplayError, replay};
pub use sim::sim;
pub use spec::{SourceSpec, UnknownSource};

/// A source that knows beforehand what will happen: a simulation, or a recording.
pub struct Source {
    info: SourceInfo,
    /// In order of time; the end is not among them.
    events: Box<dyn Iterator<Item = SourceEvent> + Send>,
    /// When it ends, s of visit time.
    end_s: f64,
}

/// An event and when it was handed on, s on the daemon's own clock: what latencies count from.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamped {
    /// When it was handed on.
    pub at_s: f64,
    /// The event.
    pub event: SourceEvent,
}

impl Source {
    /// What is known before it starts.
    #[must_use]
    pub const fn info(&self) -> &SourceInfo {
        &self.info
    }

    /// Hands the events on as their time comes, until the last one or until told to stop. The last
    /// event is [`SourceEvent::Ended`] either way. A full queue makes it wait.
    pub async fn play(
        self,
        pace: Pace,
        clock: Monotonic,
        queue: mpsc::Sender<Stamped>,
        stop: CancellationToken,
    ) {
        let mut time_s = self.info.start_s;
        let pacer = Pacer::start(pace, time_s);
        for event in self.events {
            tokio::select! {
                biased;
                () = stop.cancelled() => break,
                () = pacer.until(event.time_s()) => {}
            }
            time_s = time_s.max(event.time_s());
            if queue.send(Stamped { at_s: clock.now_s(), event }).await.is_err() {
                return;
            }
        }
        tokio::select! {
            biased;
            () = stop.cancelled() => {}
            () = pacer.until(self.end_s) => time_s = time_s.max(self.end_s),
        }
        let event = SourceEvent::Ended { time_s };
        // Nobody listens any more only where the pipeline has failed, and it says so itself.
        queue.send(Stamped { at_s: clock.now_s(), event }).await.ok();
    }
}

#[cfg(test)]
impl Source {
    /// The same source; `told` hears the number of each event, from 0, as it is handed on.
    pub(crate) fn inspected(self, mut told: impl FnMut(usize) + Send + 'static) -> Self {
        let events = self.events.enumerate().map(move |(number, event)| {
            told(number);
            event
        });
        Self { events: Box::new(events), ..self }
    }

    /// Its events, in order.
    pub(crate) fn into_events(self) -> impl Iterator<Item = SourceEvent> {
        self.events
    }
}

impl fmt::Debug for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Source")
            .field("info", &self.info)
            .field("end_s", &self.end_s)
            .finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests;
