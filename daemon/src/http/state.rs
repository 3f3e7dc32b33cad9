//! What the handlers are given: the live state to read, the visits to look up, the commands to send.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use tokio::sync::{Semaphore, mpsc, oneshot, watch};
use utoipa::ToSchema;

use super::visits::VisitSource;
use crate::desk::Desk;
use crate::fitting::Fitting;
use crate::live::LiveState;
use crate::meters::Meters;
use crate::order::{Order, Refusal};

/// What the therapist can say by a pedal, a key or a button.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Command {
    /// This is the end range: mark it now.
    Mark,
    /// Go on to what comes next.
    Next,
    /// Take back the last thing that was kept.
    Undo,
    /// The person stopped for pain: no more repetitions are asked for.
    PainStop,
}

/// Everything the HTTP interface shares with the rest of the daemon.
#[derive(Clone)]
pub struct AppState {
    /// The newest state to show. Each viewer holds a place in it, never a queue.
    pub live: watch::Receiver<Arc<LiveState>>,
    /// Where kept visits are looked up.
    pub visits: Arc<dyn VisitSource>,
    /// What is done afterwards: history, movements, reports, putting right.
    pub desk: Desk,
    /// Where commands go; when it is full the sender of the request is told so.
    pub commands: mpsc::Sender<Command>,
    /// Where that goes which can be refused.
    pub orders: mpsc::Sender<Asked>,
    /// Finding sensors and saying where they are worn.
    pub fitting: Fitting,
    /// What is measured of the running program.
    pub meters: Meters,
}

/// What was asked for, and where the answer is awaited.
#[derive(Debug)]
pub struct Asked {
    /// What.
    pub order: Order,
    /// Whether it is done, or why not.
    pub answer: oneshot::Sender<Result<(), Refusal>>,
}

impl fmt::Debug for AppState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("AppState").field("live", &self.live).finish_non_exhaustive()
    }
}

/// How many pages may watch at once.
pub(super) const VIEWERS: usize = 16;

/// How many look-ups in the store may run at once.
const LOOKUPS: usize = 2;

/// [`AppState`] and what limits the use of it.
#[derive(Debug, Clone)]
pub(super) struct Shared {
    /// What the rest of the daemon gave.
    pub(super) app: AppState,
    /// One permit per viewer of the live stream.
    pub(super) viewers: Arc<Semaphore>,
    /// One permit per running look-up.
    pub(super) lookups: Arc<Semaphore>,
    /// Cancelled when the daemon stops.
    pub(super) stop: tokio_util::sync::CancellationToken,
}

impl Shared {
    /// Fresh limits around `app`.
    pub(super) fn new(app: AppState, stop: tokio_util::sync::CancellationToken) -> Self {
        Self {
            app,
            viewers: Arc::new(Semaphore::new(VIEWERS)),
            lookups: Arc::new(Semaphore::new(LOOKUPS)),
            stop,
        }
    }
}
