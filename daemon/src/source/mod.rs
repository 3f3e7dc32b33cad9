//! Where samples come from: one ordered stream of events per source.
//!
//! A source is played by [`Source::play`] into a bounded queue. Time is what comes with the events;
//! the pace only says when they are handed on. A simulation and a recording know beforehand what
//! will happen; sensors bring it as it comes, until they are told to stop.

pub(crate) mod ble;
mod decoder;
pub(crate) mod event;
mod pace;
mod replay;
mod sensors;
mod sim;
mod spec;
mod therapist;

use std::fmt;
use std::ops::Range;

use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use crate::clock::Monotonic;
use crate::visit::Marks;

pub use ble::{Cause, News, Trouble};
pub use decoder::Decoder;
pub use event::{Identity, LinkNews, SourceEvent, SourceInfo, SourceSensor};
pub use pace::{Pace, Pacer};
pub use replay::{ReplayError, replay};
pub use sensors::{Worn, sensors};
pub use sim::sim;
pub use spec::{SourceSpec, UnknownSource};
pub use therapist::Therapist;

/// A source of samples.
pub struct Source {
    info: SourceInfo,
    feed: Feed,
}

/// How a source comes by what it tells.
enum Feed {
    /// It knows beforehand what will happen: a simulation, or a recording.
    Known {
        /// In order of time; the end is not among them.
        events: Box<dyn Iterator<Item = SourceEvent> + Send>,
        /// When it ends, s of visit time.
        end_s: f64,
    },
    /// Sensors send it.
    Sensors {
        /// Which.
        wanted: Vec<ble::Wanted>,
        /// Who marks the spans, where that is not the therapist at the table.
        therapist: Option<Therapist>,
    },
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

    /// The same source in a visit that is led by its guide: its own marks do not count.
    #[must_use]
    pub const fn guided(mut self) -> Self {
        self.info.marks = Marks::Guide;
        self
    }

    /// A source that knows beforehand what will happen.
    fn known(
        info: SourceInfo,
        events: impl Iterator<Item = SourceEvent> + Send + 'static,
        end_s: f64,
    ) -> Self {
        Self { info, feed: Feed::Known { events: Box::new(events), end_s } }
    }

    /// The same sensors, but a simulated therapist marks the visit's spans and ends it. A source that
    /// knows beforehand what will happen has its own marks, and stays as it is.
    #[must_use]
    pub fn marked_by(mut self, marker: Therapist) -> Self {
        if let Feed::Sensors { therapist, .. } = &mut self.feed {
            *therapist = Some(marker);
            self.info.marks = Marks::Source;
        }
        self
    }

    /// Hands the events on as their time comes, until the last one or until told to stop. The last
    /// event is [`SourceEvent::Ended`] either way. A full queue makes it wait; what sensors send
    /// meanwhile is counted and said to be lost.
    pub async fn play(
        self,
        pace: Pace,
        clock: Monotonic,
        queue: mpsc::Sender<Stamped>,
        stop: CancellationToken,
    ) {
        let mut farewell = None;
        let time_s = match self.feed {
            Feed::Known { events, end_s } => {
                let start_s = self.info.start_s;
                play_known(events, start_s..end_s, pace, clock, &queue, &stop).await
            }
            Feed::Sensors { wanted, therapist } => {
                let (time_s, to_say) = play_sensors(wanted, therapist, clock, &queue, &stop).await;
                farewell = Some(to_say);
                time_s
            }
        };
        let event = SourceEvent::Ended { time_s };
        // Nobody listens any more only where the pipeline has failed, and it says so itself.
        queue.send(Stamped { at_s: clock.now_s(), event }).await.ok();
        // The visit does not wait for the sensors to be left.
        drop(queue);
        if let Some(farewell) = farewell {
            farewell.say().await;
        }
    }
}

/// Hands on what sensors send; gives the visit time at its end, s, and what takes leave of them.
async fn play_sensors(
    wanted: Vec<ble::Wanted>,
    therapist: Option<Therapist>,
    clock: Monotonic,
    queue: &mpsc::Sender<Stamped>,
    stop: &CancellationToken,
) -> (f64, ble::Farewell<ble::BluetoothRadio>) {
    let timeline = ble::Timeline::new(clock);
    let over = stop.child_token();
    let marking = async {
        if let Some(therapist) = therapist {
            therapist.mark(&timeline, queue, &over).await;
            over.cancel();
        }
    };
    let sensors = ble::run(ble::Bluetooth, wanted, timeline.clone(), queue.clone(), over.clone());
    let (farewell, ()) = tokio::join!(sensors, marking);
    (timeline.now_s(), farewell)
}

/// Plays what is known beforehand; gives the visit time at its end, s.
async fn play_known(
    events: Box<dyn Iterator<Item = SourceEvent> + Send>,
    span_s: Range<f64>,
    pace: Pace,
    clock: Monotonic,
    queue: &mpsc::Sender<Stamped>,
    stop: &CancellationToken,
) -> f64 {
    let mut time_s = span_s.start;
    let pacer = Pacer::start(pace, time_s);
    for event in events {
        tokio::select! {
            biased;
            () = stop.cancelled() => break,
            () = pacer.until(event.time_s()) => {}
        }
        time_s = time_s.max(event.time_s());
        if queue.send(Stamped { at_s: clock.now_s(), event }).await.is_err() {
            return time_s;
        }
    }
    tokio::select! {
        biased;
        () = stop.cancelled() => {}
        () = pacer.until(span_s.end) => time_s = time_s.max(span_s.end),
    }
    time_s
}

#[cfg(test)]
impl Source {
    /// The same source; `told` hears the number of each event, from 0, as it is handed on.
    pub(crate) fn inspected(self, mut told: impl FnMut(usize) + Send + 'static) -> Self {
        let Feed::Known { events, end_s } = self.feed else { return self };
        let events = events.enumerate().map(move |(number, event)| {
            told(number);
            event
        });
        Self::known(self.info, events, end_s)
    }

    /// Its events, in order.
    pub(crate) fn into_events(self) -> impl Iterator<Item = SourceEvent> {
        match self.feed {
            Feed::Known { events, .. } => events,
            Feed::Sensors { .. } => Box::new(std::iter::empty()),
        }
    }
}

impl fmt::Debug for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Source").field("info", &self.info).finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests;
