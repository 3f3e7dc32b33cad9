//! The marks of a simulated visit whose sensors are reached by radio.

use std::time::Duration;

use endarc_simulator::Session;
use tokio::sync::{mpsc, oneshot};
use tokio_util::sync::CancellationToken;

use super::ble::Timeline;
use super::event::SourceEvent;
use super::{Stamped, sim};
use crate::visit::SpanMark;

/// After the visit's end its last notifications are still on their way, for so long, s.
const LAST_S: f64 = 0.5;

/// Whoever marks the spans of a simulated visit, in real time, while its sensors send by radio.
#[derive(Debug)]
pub struct Therapist {
    marks: Vec<SourceEvent>,
    duration_s: f64,
    begun: oneshot::Receiver<f64>,
}

impl Therapist {
    /// The therapist of a simulated visit; `begun` gives how long ago its time zero was when it is
    /// heard, s.
    #[must_use]
    pub fn of(session: &Session, begun: oneshot::Receiver<f64>) -> Self {
        let (marks, duration_s) = (sim::marks(session.events()), session.duration_s());
        Self { marks, duration_s, begun }
    }

    /// Marks from the visit's time zero to its end, or until `over`.
    pub(super) async fn mark(
        self,
        timeline: &Timeline,
        queue: &mpsc::Sender<Stamped>,
        over: &CancellationToken,
    ) {
        tokio::select! {
            biased;
            () = over.cancelled() => {}
            () = self.mark_all(timeline, queue) => {}
        }
    }

    async fn mark_all(self, timeline: &Timeline, queue: &mpsc::Sender<Stamped>) {
        let Ok(ago_s) = self.begun.await else {
            // It will never begin: whoever would have said so is gone, and the visit is told to stop.
            return std::future::pending().await;
        };
        let zero_s = timeline.now_s() - ago_s;
        for mark in self.marks {
            until(zero_s + mark.time_s(), timeline).await;
            let stamped = Stamped { at_s: timeline.now_s(), event: later(mark, zero_s) };
            if queue.send(stamped).await.is_err() {
                return;
            }
        }
        until(zero_s + self.duration_s + LAST_S, timeline).await;
    }
}

/// The same mark in the time of a visit that began so much later, s.
fn later(mark: SourceEvent, by_s: f64) -> SourceEvent {
    let moved = |mark: SpanMark| SpanMark { time_s: mark.time_s + by_s, ..mark };
    match mark {
        SourceEvent::SpanBegan(mark) => SourceEvent::SpanBegan(moved(mark)),
        SourceEvent::SpanEnded(mark) => SourceEvent::SpanEnded(moved(mark)),
        other => other,
    }
}

async fn until(time_s: f64, timeline: &Timeline) {
    let wait_s = (time_s - timeline.now_s()).max(0.0);
    tokio::time::sleep(Duration::try_from_secs_f64(wait_s).unwrap_or(Duration::MAX)).await;
}

#[cfg(test)]
mod tests {
    use endarc_simulator::Scenario;

    use super::*;
    use crate::clock::Monotonic;

    #[tokio::test(start_paused = true)]
    async fn marks_come_at_their_times_from_the_moment_of_the_beginning() {
        let session = Session::new(&Scenario::clinic());
        let (begin, begun) = oneshot::channel();
        let therapist = Therapist::of(&session, begun);
        let timeline = Timeline::new(Monotonic::start());
        let (queue, mut marks) = mpsc::channel(256);
        let over = CancellationToken::new();
        let beginning = async {
            tokio::time::sleep(Duration::from_millis(6500)).await;
            begin.send(-0.5).unwrap();
        };
        tokio::join!(therapist.mark(&timeline, &queue, &over), beginning);
        assert!((timeline.now_s() - (7.0 + session.duration_s() + LAST_S)).abs() < 0.01);
        drop(queue);
        let mut expected = sim::marks(session.events()).into_iter();
        while let Some(Stamped { at_s, event }) = marks.recv().await {
            let mark = expected.next().unwrap();
            assert!((event.time_s() - mark.time_s() - 7.0).abs() < 0.01, "{event:?}");
            assert!((at_s - event.time_s()).abs() < 0.01, "{event:?} at {at_s}");
        }
        assert_eq!(expected.next(), None);
    }

    #[tokio::test(start_paused = true)]
    async fn a_visit_that_never_begins_ends_when_told_to() {
        let session = Session::new(&Scenario::clinic());
        let (begin, begun) = oneshot::channel::<f64>();
        drop(begin);
        let over = CancellationToken::new();
        over.cancel();
        let timeline = Timeline::new(Monotonic::start());
        let (queue, _marks) = mpsc::channel(1);
        Therapist::of(&session, begun).mark(&timeline, &queue, &over).await;
        assert!(timeline.now_s() < 0.01);
    }
}
