//! Finding sensors and saying where they are worn, from the page: which are in sight, which one is
//! being moved, and the assignment that follows.
//!
//! A task of its own holds the radio for this, only while somebody looks. It leaves the radio to the
//! visit: while sensors stream the search pauses, and while a visit uses its sensors none is
//! connected to see which one moves.

pub(crate) mod moving;
mod shapes;
mod task;
#[cfg(test)]
mod tests;

use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use crate::live::LiveState;
use crate::order::Refusal;
use crate::pipeline::queues;
use crate::source::ble::Opener;
use crate::store::WriterHandle;

pub use shapes::{FittingOrder, FittingState, Search, SensorInSight};

/// What was asked for, and where the answer is awaited.
#[derive(Debug)]
pub struct FittingAsked {
    /// What.
    pub order: FittingOrder,
    /// Whether it is done, or why not.
    pub answer: oneshot::Sender<Result<(), Refusal>>,
}

/// Where the interface asks and looks.
#[derive(Debug, Clone)]
pub struct Fitting {
    /// Where orders go; when it is full the sender of the request is told so.
    pub orders: mpsc::Sender<FittingAsked>,
    /// What is known now.
    pub state: watch::Receiver<Arc<FittingState>>,
}

/// What the task needs of the rest of the daemon.
#[derive(Debug)]
pub(crate) struct Surroundings {
    /// The data folder, to read what is known of sensors.
    pub(crate) data_dir: PathBuf,
    /// Where assignments are stored.
    pub(crate) writer: WriterHandle,
    /// Whether a visit's sensors stream.
    pub(crate) live: watch::Receiver<Arc<LiveState>>,
    /// The folder of the user's own profiles; `None` for the usual one.
    pub(crate) profiles: Option<PathBuf>,
}

/// Starts the task; it ends with `stop`.
pub(crate) fn start<O: Opener>(
    opener: O,
    surroundings: Surroundings,
    stop: CancellationToken,
) -> (Fitting, JoinHandle<()>) {
    let (to_task, orders) = mpsc::channel(queues::ORDERS);
    let (shown, state) = watch::channel(Arc::new(FittingState::default()));
    let task = task::Task::new(opener, surroundings, orders, shown);
    let running = tokio::spawn(async move {
        stop.run_until_cancelled(task.run()).await;
    });
    (Fitting { orders: to_task, state }, running)
}
