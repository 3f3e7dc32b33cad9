//! The pipeline's task: feeds the core with whatever comes, and carries its outputs away.

use std::collections::VecDeque;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{mpsc, watch};
use tokio::time::{Interval, MissedTickBehavior, interval, sleep};
use tokio_util::sync::CancellationToken;

use super::core::{Core, Output};
use super::keeper::{Answer, Keep, What};
use super::record::JOIN_LIMIT;
use crate::clock::Monotonic;
use crate::http;
use crate::live::LiveState;
use crate::meters::{Meters, Way};
use crate::source::{Pace, SourceEvent, Stamped};
use crate::store::Saving;
use crate::visit::{Announcement, Command, Record, VisitEvent};

/// How often time goes by when nothing comes: a silent sensor is named within a second.
const TICK: Duration = Duration::from_millis(100);

/// The core with its queues.
#[derive(Debug)]
pub(super) struct Pump {
    pub(super) core: Core,
    pub(super) pace: Pace,
    pub(super) clock: Monotonic,
    /// `None` once nothing is stored any more.
    pub(super) keeper: Option<mpsc::Sender<Keep>>,
    pub(super) answers: mpsc::Receiver<Answer>,
    pub(super) commands: mpsc::Receiver<http::Command>,
    pub(super) orders: mpsc::Receiver<http::Asked>,
    pub(super) announcements: mpsc::Sender<Announcement>,
    pub(super) saving: watch::Receiver<Saving>,
    /// Stops the source.
    pub(super) stop: CancellationToken,
    pub(super) publisher: Publisher,
    /// Visit time of the newest event, and when it was handed on, s on the daemon's clock.
    pub(super) heard: (f64, f64),
    /// Lines that went to the log alone, because the queue was full.
    pub(super) untold: u64,
}

impl Pump {
    /// Runs until the source has ended, and longer only for what it told.
    pub(super) async fn run(&mut self, mut events: mpsc::Receiver<Stamped>) {
        let mut ticks = ticks();
        let real_time = !self.pace.is_fast();
        loop {
            let at_s = self.clock.now_s();
            let (outputs, since_s) = tokio::select! {
                biased;
                Some(answer) = self.answers.recv() => (self.core.answer(answer), at_s),
                Ok(()) = self.saving.changed() => (self.saving_changed(), at_s),
                Some(command) = self.commands.recv() => {
                    (self.core.command(from_page(command)), at_s)
                }
                Some(asked) = self.orders.recv() => (self.order(asked), at_s),
                event = events.recv() => match event {
                    Some(Stamped { at_s, event }) => {
                        self.heard = (event.time_s(), at_s);
                        (self.take(event, at_s), at_s)
                    }
                    None => break,
                },
                _ = ticks.tick(), if real_time => (self.core.tick(self.visit_time_s()), at_s),
            };
            self.carry(outputs, since_s).await;
            self.publisher.offer(&self.core);
        }
        self.publisher.log();
    }

    /// Takes an event of the source, and measures how far it has come and when; under the virtual
    /// clock that would say nothing.
    fn take(&mut self, event: SourceEvent, at_s: f64) -> Vec<Output> {
        let brings_samples =
            matches!(event, SourceEvent::Notification { .. } | SourceEvent::Sample { .. });
        let measured = !self.pace.is_fast();
        let meters = &self.publisher.meters;
        self.core.take_in(event, at_s);
        if measured && brings_samples {
            meters.reached(Way::Decoded, at_s);
        }
        let outputs = self.core.go_on();
        let now_s = self.clock.now_s();
        for arrived_s in self.core.fed().filter(|_| measured) {
            meters.reached_at(Way::Angle, arrived_s, now_s);
            self.publisher.newest_at_s = Some(arrived_s);
        }
        outputs
    }

    /// Nothing is stored any more: the keeper ends once it has stored what it was given.
    pub(super) fn close_keeper(&mut self) {
        self.keeper = None;
    }

    /// Hears what the store has still to say, until the keeper has ended.
    pub(super) async fn hear_the_rest(&mut self) {
        while let Some(answer) = self.answers.recv().await {
            let outputs = self.core.answer(answer);
            let at_s = self.clock.now_s();
            self.carry(outputs, at_s).await;
        }
    }

    /// Tells the visit something from outside.
    pub(super) async fn tell(&mut self, event: VisitEvent) {
        let outputs = self.core.tell(event);
        let at_s = self.clock.now_s();
        self.carry(outputs, at_s).await;
    }

    /// Carries outputs away, in order, and those of the answers that come meanwhile.
    async fn carry(&mut self, outputs: Vec<Output>, since_s: f64) {
        let mut outputs = VecDeque::from(outputs);
        while let Some(output) = outputs.pop_front() {
            match output {
                Output::Chunk(chunk) => {
                    let since_s = self.oldest_s(&chunk, since_s);
                    self.keep(Keep { what: What::Chunk(chunk), since_s }, &mut outputs).await;
                }
                Output::Record(record) => {
                    let awaited =
                        self.pace.is_fast() && matches!(record, Record::Repetition { .. });
                    self.keep(Keep { what: What::Record(record), since_s }, &mut outputs).await;
                    if awaited {
                        self.hear_one(&mut outputs).await;
                    }
                }
                Output::Found(found) => {
                    self.keep(Keep { what: What::Found(found), since_s }, &mut outputs).await;
                }
                Output::UseTable(table) => {
                    self.keep(Keep { what: What::UseTable(table), since_s }, &mut outputs).await;
                }
                Output::Exchanged => {
                    self.keep(Keep { what: What::Exchanged, since_s }, &mut outputs).await;
                }
                Output::Bias(role, at_s, state) => {
                    let what = What::Bias(role, at_s, state);
                    self.keep(Keep { what, since_s }, &mut outputs).await;
                }
                Output::Identity { address, identity } => {
                    let what = What::Identity { address, identity };
                    self.keep(Keep { what, since_s }, &mut outputs).await;
                }
                Output::Announce(announcement) => self.announce(announcement).await,
                Output::EndSource => self.stop.cancel(),
            }
        }
    }

    /// Hands something to the keeper. While that waits, answers are heard: neither of the two may
    /// wait for the other. It is also heard and shown that the disk refuses, for that is what a full
    /// queue mostly comes from; told to stop, nobody waits for such a disk for ever.
    async fn keep(&mut self, keep: Keep, outputs: &mut VecDeque<Output>) {
        let Some(keeper) = self.keeper.clone() else { return };
        let stop = self.stop.clone();
        let mut given_up = pin!(long_after(&stop));
        loop {
            tokio::select! {
                permit = keeper.reserve() => {
                    match permit {
                        Ok(permit) => permit.send(keep),
                        // The keeper has failed: whoever joins it learns why.
                        Err(_closed) => self.stop.cancel(),
                    }
                    return;
                }
                Some(answer) = self.answers.recv() => outputs.extend(self.core.answer(answer)),
                Ok(()) = self.saving.changed() => self.show_saving(outputs),
                () = &mut given_up => {
                    tracing::error!("the store takes nothing: what comes from here on is lost");
                    self.keeper = None;
                    return;
                }
            }
        }
    }

    /// Under the virtual clock no time goes by while the disk syncs: the answer belongs to this
    /// very moment, so that the same scenario gives the same states.
    async fn hear_one(&mut self, outputs: &mut VecDeque<Output>) {
        loop {
            tokio::select! {
                biased;
                answer = self.answers.recv() => {
                    if let Some(answer) = answer {
                        outputs.extend(self.core.answer(answer));
                    }
                    return;
                }
                Ok(()) = self.saving.changed() => self.show_saving(outputs),
                () = self.stop.cancelled() => return,
            }
        }
    }

    /// Shows at once whether the disk takes what is recorded, also while everything waits for it.
    fn show_saving(&mut self, outputs: &mut VecDeque<Output>) {
        outputs.extend(self.saving_changed());
        self.publisher.publish(&self.core);
    }

    async fn announce(&mut self, announcement: Announcement) {
        if self.pace.is_fast() {
            // Nobody listens: nobody is told.
            self.announcements.send(announcement).await.ok();
        } else if let Err(mpsc::error::TrySendError::Full(lost)) =
            self.announcements.try_send(announcement)
        {
            self.untold += 1;
            tracing::warn!(line = lost.line, untold = self.untold, "whoever tells is behind");
        }
    }

    /// Does what the page asks for, and answers.
    fn order(&mut self, asked: http::Asked) -> Vec<Output> {
        let done = self.core.order(asked.order);
        let (outputs, answer) = match done {
            Ok(outputs) => (outputs, Ok(())),
            Err(refusal) => (Vec::new(), Err(refusal)),
        };
        // Whoever asked may have gone.
        asked.answer.send(answer).ok();
        outputs
    }

    fn saving_changed(&mut self) -> Vec<Output> {
        let event = match &*self.saving.borrow_and_update() {
            Saving::Ok => VisitEvent::SavingAgain,
            Saving::NotSaving(reason) => VisitEvent::NotSaving(reason.clone()),
        };
        self.core.tell(event)
    }

    /// Visit time by the clock, between two events.
    fn visit_time_s(&self) -> f64 {
        match self.pace {
            Pace::Fast => self.core.now_s(),
            Pace::Times(speed) => {
                let (time_s, at_s) = self.heard;
                time_s + (self.clock.now_s() - at_s) * speed
            }
        }
    }

    /// When a chunk's first sample came, s on the daemon's clock.
    fn oldest_s(&self, chunk: &crate::store::rows::RawChunk, since_s: f64) -> f64 {
        match (self.pace, chunk.readings.span_s()) {
            (Pace::Times(speed), Some((start_s, _))) => {
                since_s - (self.core.now_s() - start_s) / speed
            }
            _ => since_s,
        }
    }
}

/// Once the visit has been told to stop and the store has had its time.
async fn long_after(stop: &CancellationToken) {
    stop.cancelled().await;
    sleep(JOIN_LIMIT).await;
}

fn ticks() -> Interval {
    let mut ticks = interval(TICK);
    // After the machine has slept, one tick is enough.
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    ticks
}

const fn from_page(command: http::Command) -> Command {
    match command {
        http::Command::Mark => Command::Mark,
        http::Command::Next => Command::Next,
        http::Command::Undo => Command::Undo,
        http::Command::PainStop => Command::PainStop,
    }
}

/// States a second of visit time at most: what a screen can show.
const STATES_PER_S: f64 = 30.0;

/// How often the sensors are measured, s.
const MEASURED_EVERY_S: f64 = 1.0;

/// Publishes the live state.
#[derive(Debug)]
pub(super) struct Publisher {
    live: watch::Sender<Arc<LiveState>>,
    sequence: u64,
    next_s: f64,
    /// When the newest sample that was fed arrived, s on the daemon's clock; `None` once it was
    /// published.
    newest_at_s: Option<f64>,
    /// When the sensors were last measured, s on the daemon's clock.
    measured_s: f64,
    meters: Meters,
}

impl Publisher {
    pub(super) fn new(live: watch::Sender<Arc<LiveState>>, meters: Meters) -> Self {
        Self {
            live,
            sequence: 0,
            next_s: f64::NEG_INFINITY,
            newest_at_s: None,
            measured_s: f64::NEG_INFINITY,
            meters,
        }
    }

    /// Publishes the present state, unless the last one is too young.
    fn offer(&mut self, core: &Core) {
        if core.now_s() < self.next_s {
            return;
        }
        self.next_s = core.now_s() + 1.0 / STATES_PER_S;
        self.publish(core);
        let now_s = self.meters.clock().now_s();
        if now_s - self.measured_s >= MEASURED_EVERY_S {
            self.measured_s = now_s;
            self.meters.sensors(core.sensors());
        }
    }

    /// Publishes the last state, whatever its age.
    pub(super) fn finish(&mut self, core: &Core) {
        self.meters.sensors(core.sensors());
        self.publish(core);
    }

    fn publish(&mut self, core: &Core) {
        self.sequence += 1;
        let newest_at_s = self.newest_at_s.take();
        let state = LiveState { sequence: self.sequence, newest_at_s, ..core.state() };
        self.live.send_replace(Arc::new(state));
    }

    fn log(&self) {
        self.meters.log();
    }
}
