//! The task that empties one sensor's notification stream, and waits for nothing else.
//!
//! Back ends other than BlueZ's hold few notifications for a slow reader and drop the rest without
//! a word; so nothing here may wait. Where the pipeline's queue is full, what does not fit is
//! counted, and said as soon as there is room.

use std::sync::Arc;

use endarc_protocol::profile::Profile;
use endarc_protocol::words::SensorRole;
use futures::StreamExt;
use futures::stream::BoxStream;
use tokio::sync::mpsc;
use tokio::sync::mpsc::error::TrySendError;
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use super::radio::{Notification, Place};
use super::timeline::{Heard, Timeline};
use crate::source::{LinkNews, SourceEvent, Stamped};

/// A running drain. Dropping it does not end it: [`Drain::end`] does.
#[derive(Debug)]
pub(super) struct Drain {
    /// From then on nothing is passed on.
    hush: CancellationToken,
    stop: CancellationToken,
    task: JoinHandle<()>,
}

/// What a drain needs to know of its sensor.
#[derive(Debug, Clone)]
pub(super) struct Outlet {
    pub(super) role: SensorRole,
    pub(super) profile: Arc<Profile>,
    pub(super) timeline: Timeline,
    pub(super) heard: Arc<Heard>,
    pub(super) queue: mpsc::Sender<Stamped>,
}

impl Drain {
    /// Begins.
    pub(super) fn start(outlet: Outlet, stream: BoxStream<'static, Notification>) -> Self {
        let (hush, stop) = (CancellationToken::new(), CancellationToken::new());
        let task = tokio::spawn(run(outlet, stream, hush.clone(), stop.clone()));
        Self { hush, stop, task }
    }

    /// Passes nothing on any more, but goes on emptying the stream: one that is dropped while
    /// notifications come makes BlueZ's back end complain.
    pub(super) fn hush(&self) {
        self.hush.cancel();
    }

    /// Ends it and waits until it has.
    pub(super) async fn end(self) {
        self.hush.cancel();
        self.stop.cancel();
        if let Err(error) = self.task.await {
            tracing::error!(%error, "the task of a sensor's notifications broke off");
        }
    }
}

async fn run(
    outlet: Outlet,
    mut stream: BoxStream<'static, Notification>,
    hush: CancellationToken,
    stop: CancellationToken,
) {
    pass_on(outlet, &mut stream, &hush).await;
    loop {
        tokio::select! {
            biased;
            () = stop.cancelled() => return,
            notification = stream.next() => if notification.is_none() {
                return;
            },
        }
    }
}

async fn pass_on(
    outlet: Outlet,
    stream: &mut BoxStream<'static, Notification>,
    hush: &CancellationToken,
) {
    let mut overflow = Overflow::default();
    loop {
        tokio::select! {
            biased;
            () = hush.cancelled() => break,
            notification = stream.next() => match notification {
                Some(notification) => {
                    if !outlet.pass(notification, &mut overflow) {
                        break;
                    }
                }
                // Not expected of any back end; the watch on data takes it from here.
                None => break,
            },
        }
    }
    if overflow.lost > 0 {
        // Nothing more comes from here, so this once it may wait.
        let at_s = outlet.timeline.now_s();
        outlet.queue.send(overflow.event(outlet.role, at_s)).await.ok();
    }
}

/// What did not fit into the queue since it was last said.
#[derive(Debug, Default, Clone, Copy)]
struct Overflow {
    lost: u64,
    from_s: f64,
}

impl Overflow {
    fn add(&mut self, at_s: f64) {
        if self.lost == 0 {
            self.from_s = at_s;
        }
        self.lost += 1;
    }

    fn event(self, role: SensorRole, at_s: f64) -> Stamped {
        let news = LinkNews::Overflow { from_s: self.from_s, notifications: self.lost };
        Stamped { at_s, event: SourceEvent::Link { time_s: at_s, role, news } }
    }
}

impl Outlet {
    /// Passes a notification on; false when nobody takes them any more.
    fn pass(&self, notification: Notification, overflow: &mut Overflow) -> bool {
        let Notification { service, characteristic, bytes } = notification;
        let streams = self.profile.streams().iter();
        let mut places = streams
            .map(|one| Place { service: one.service(), characteristic: one.characteristic() });
        if !places.any(|place| place.is(service, characteristic)) {
            return true;
        }
        let at_s = self.timeline.now_s();
        self.heard.mark(at_s);
        if overflow.lost > 0 {
            match self.queue.try_send(overflow.event(self.role, at_s)) {
                Ok(()) => *overflow = Overflow::default(),
                Err(TrySendError::Full(_)) => {
                    overflow.add(at_s);
                    return true;
                }
                Err(TrySendError::Closed(_)) => return false,
            }
        }
        let event =
            SourceEvent::Notification { arrival_s: at_s, role: self.role, characteristic, bytes };
        match self.queue.try_send(Stamped { at_s, event }) {
            Ok(()) => true,
            Err(TrySendError::Full(_)) => {
                overflow.add(at_s);
                true
            }
            Err(TrySendError::Closed(_)) => false,
        }
    }
}
