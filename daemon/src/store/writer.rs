//! The one thread that writes.
//!
//! It takes whatever waits in its queue, writes it in one transaction and syncs: at once when there
//! is little, in batches when there is much, so at least once a second while samples come. What the
//! disk does not take it keeps and tries again, and says so ([`Saving`]); nothing is dropped.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};

use tokio::sync::{mpsc, oneshot, watch};

use super::rows::{NewRepetition, NewSpan, NewVisit};
use super::worker::{Job, Worker};
use super::{RepetitionId, SpanId, Store, VisitId, Write};

/// Writes that wait at most. Four sensors send five chunks a second and a few other writes: this
/// is about 30 s. When it is full, the sender waits.
pub const QUEUE_WRITES: usize = 256;

/// Whether what is recorded reaches the disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Saving {
    /// It does.
    Ok,
    /// It does not; the writer keeps what it has and tries on.
    NotSaving(String),
}

/// Why something was not stored.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WriteError {
    /// The database refused the row: it names something that is not there, or an impossible value.
    #[error("the database refused it: {0}")]
    Refused(String),
    /// The writer has ended, or ended before it could store this.
    #[error("the store is closed")]
    Closed,
    /// The disk did not take the last writes before the end.
    #[error("{writes} last writes could not be saved: {reason}")]
    NotSaved {
        /// How many.
        writes: usize,
        /// What the disk or database said.
        reason: String,
    },
    /// Everything is on disk, but the visits could not be ended or the log not be folded in.
    #[error(
        "the database could not be closed in order ({0}): nothing is lost, the next start does it"
    )]
    NotInOrder(String),
}

/// The writing thread's owner. [`Writer::close`] ends it in order; dropped without, it writes what
/// is queued and leaves open visits to be found as interrupted.
#[derive(Debug)]
pub struct Writer {
    handle: WriterHandle,
    closing: Arc<AtomicBool>,
    thread: Option<JoinHandle<Result<(), WriteError>>>,
}

/// Sends to the writer; cheap to clone.
#[derive(Debug, Clone)]
pub struct WriterHandle {
    queue: mpsc::Sender<Job>,
    saving: watch::Receiver<Saving>,
}

impl Writer {
    /// Starts the thread on a data folder.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(store: Store) -> std::io::Result<Self> {
        let (queue, jobs) = mpsc::channel(QUEUE_WRITES);
        let (saving_sender, saving) = watch::channel(Saving::Ok);
        let closing = Arc::new(AtomicBool::new(false));
        let mut worker = Worker::new(store, jobs, saving_sender, Arc::clone(&closing));
        let thread =
            thread::Builder::new().name("endarc-store".to_owned()).spawn(move || worker.run())?;
        Ok(Self { handle: WriterHandle { queue, saving }, closing, thread: Some(thread) })
    }

    /// A handle to send with.
    #[must_use]
    pub fn handle(&self) -> WriterHandle {
        self.handle.clone()
    }

    /// Writes what is queued, ends open visits as closed with their last stored sample, folds the
    /// log into the database and lets the data folder go.
    ///
    /// # Errors
    /// [`WriteError::NotSaved`] when the disk does not take the last writes within about two
    /// seconds (or one wait for a lock), [`WriteError::NotInOrder`] when only the tidying failed.
    pub async fn close(mut self) -> Result<(), WriteError> {
        self.closing.store(true, Ordering::Release);
        // Where the thread has ended already there is nobody left to tell.
        let told = self.handle.queue.send(Job::Close).await;
        let Some(thread) = self.thread.take() else { return Err(WriteError::Closed) };
        thread.thread().unpark();
        drop(told);
        let joined = tokio::task::spawn_blocking(move || thread.join()).await;
        joined.map_or(Err(WriteError::Closed), |ended| ended.unwrap_or(Err(WriteError::Closed)))
    }
}

impl WriterHandle {
    /// Queues a write; waits while the queue is full. What becomes of it shows in
    /// [`WriterHandle::saving`], and a refusal in the log.
    ///
    /// # Errors
    /// [`WriteError::Closed`].
    pub async fn send(&self, write: Write) -> Result<(), WriteError> {
        let job = Job::Save { write: Box::new(write), reply: None };
        self.queue.send(job).await.map_err(|_closed| WriteError::Closed)
    }

    /// Stores a write and answers with its row's key once it is synced to disk.
    ///
    /// # Errors
    /// [`WriteError::Refused`] or [`WriteError::Closed`]; while the disk refuses, it waits.
    pub async fn save(&self, write: Write) -> Result<i64, WriteError> {
        let (reply, answer) = oneshot::channel();
        let job = Job::Save { write: Box::new(write), reply: Some(reply) };
        self.queue.send(job).await.map_err(|_closed| WriteError::Closed)?;
        answer.await.unwrap_or(Err(WriteError::Closed))
    }

    /// Stores a visit that begins.
    ///
    /// # Errors
    /// As [`WriterHandle::save`].
    pub async fn begin_visit(&self, new: NewVisit) -> Result<VisitId, WriteError> {
        self.save(Write::BeginVisit(new)).await.map(VisitId)
    }

    /// Stores a stretch of a visit that begins.
    ///
    /// # Errors
    /// As [`WriterHandle::save`].
    pub async fn begin_span(&self, new: NewSpan) -> Result<SpanId, WriteError> {
        self.save(Write::BeginSpan(new)).await.map(SpanId)
    }

    /// Stores a captured repetition; when this answers, it is synced to disk.
    ///
    /// # Errors
    /// As [`WriterHandle::save`].
    pub async fn add_repetition(&self, new: NewRepetition) -> Result<RepetitionId, WriteError> {
        self.save(Write::Repetition(new)).await.map(RepetitionId)
    }

    /// Whether what is recorded reaches the disk; the receiver wakes at each change.
    #[must_use]
    pub fn saving(&self) -> watch::Receiver<Saving> {
        self.saving.clone()
    }
}
