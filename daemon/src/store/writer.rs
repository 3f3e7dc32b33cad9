//! The one thread that writes.
//!
//! It takes whatever waits in its queue, writes it in one transaction and syncs: at once when there
//! is little, in batches when there is much, so at least once a second while samples come. What the
//! disk does not take it keeps and tries again, and says so ([`Saving`]); nothing is dropped.

use std::fs::{self, File};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, TransactionBehavior};
use tokio::sync::{mpsc, oneshot, watch};

use super::rows::{NewRepetition, NewSpan, NewVisit};
use super::words::VisitState;
use super::write::apply;
use super::{RepetitionId, SpanId, Store, VisitId, Write, recover};

/// Writes that wait at most. Four sensors send five chunks a second and a few other writes: this
/// is about 30 s. When it is full, the sender waits.
pub const QUEUE_WRITES: usize = 256;

/// Writes in one transaction at most: bounds what is kept in hand while the disk refuses.
const BATCH_WRITES: usize = 64;

/// Pause between two tries while the disk refuses.
const RETRY_AFTER: Duration = Duration::from_millis(250);

/// Tries before giving up when the program is to end.
const LAST_TRIES: u32 = 8;

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

/// What travels through the queue.
#[derive(Debug)]
enum Job {
    Save { write: Box<Write>, reply: Option<oneshot::Sender<Result<i64, WriteError>>> },
    Close,
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
        let mut worker = Worker {
            connection: store.connection,
            jobs,
            saving: saving_sender,
            closing: Arc::clone(&closing),
            not_saving: store.not_saving,
            _lock: store.lock,
        };
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
    /// seconds.
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

/// What the thread holds.
#[derive(Debug)]
struct Worker {
    connection: Connection,
    jobs: mpsc::Receiver<Job>,
    saving: watch::Sender<Saving>,
    closing: Arc<AtomicBool>,
    not_saving: PathBuf,
    /// Held, not read: the data folder is taken while the thread lives.
    _lock: File,
}

impl Worker {
    fn run(&mut self) -> Result<(), WriteError> {
        let mut close = false;
        while let Some(first) = self.jobs.blocking_recv() {
            let mut batch = Vec::new();
            let mut next = Some(first);
            while let Some(job) = next {
                match job {
                    Job::Save { write, reply } => batch.push((write, reply)),
                    Job::Close => {
                        close = true;
                        self.jobs.close();
                    }
                }
                next = (batch.len() < BATCH_WRITES).then(|| self.jobs.try_recv().ok()).flatten();
            }
            self.save(batch)?;
        }
        self.finish(close)
    }

    /// Tries until the disk takes the batch, or until the program is to end and has waited enough.
    fn save(&mut self, batch: Vec<Pending>) -> Result<(), WriteError> {
        if batch.is_empty() {
            return Ok(());
        }
        let mut last_tries = 0;
        let answers = loop {
            let error = match commit(&mut self.connection, &batch) {
                Ok(answers) => break answers,
                Err(error) => error,
            };
            self.report(Some(plainly(&error)));
            if self.closing.load(Ordering::Acquire) || self.jobs.is_closed() {
                last_tries += 1;
                if last_tries >= LAST_TRIES {
                    let writes = batch.len() + self.jobs.len();
                    return Err(WriteError::NotSaved { writes, reason: plainly(&error) });
                }
            }
            thread::park_timeout(RETRY_AFTER);
        };
        self.report(None);
        for ((write, reply), answer) in batch.into_iter().zip(answers) {
            if let Err(error) = &answer {
                tracing::error!(%error, ?write, "a write was refused");
            }
            // Whoever asked may have gone away since.
            drop(reply.map(|reply| reply.send(answer)));
        }
        Ok(())
    }

    /// Tells whoever listens, at each change; the marker file tells the next start.
    fn report(&self, trouble: Option<String>) {
        let now = trouble.map_or(Saving::Ok, Saving::NotSaving);
        let changed = self.saving.send_if_modified(|saving| {
            let changed = *saving != now;
            if changed {
                saving.clone_from(&now);
            }
            changed
        });
        if !changed {
            return;
        }
        let marked = match &now {
            Saving::Ok => {
                tracing::warn!("saving again: nothing was lost from the queue");
                fs::remove_file(&self.not_saving)
            }
            Saving::NotSaving(reason) => {
                tracing::error!(%reason, "NOT SAVING");
                File::create(&self.not_saving).map(drop)
            }
        };
        if let Err(error) = marked {
            tracing::warn!(%error, "the marker of a refusing disk could not be set or removed");
        }
    }

    fn finish(&mut self, close: bool) -> Result<(), WriteError> {
        let end = |connection: &mut Connection| -> rusqlite::Result<()> {
            if close {
                recover::end_open_visits(connection, VisitState::Closed)?;
            }
            // A reader may hold the log: then it is folded in at the next start or end.
            connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        };
        end(&mut self.connection)
            .map_err(|error| WriteError::NotSaved { writes: 0, reason: plainly(&error) })
    }
}

/// A write in hand, and who waits for it.
type Pending = (Box<Write>, Option<oneshot::Sender<Result<i64, WriteError>>>);

/// One synced transaction. A write that the database refuses for good is left out of it alone; any
/// other error undoes the whole.
fn commit(
    connection: &mut Connection,
    batch: &[Pending],
) -> rusqlite::Result<Vec<Result<i64, WriteError>>> {
    let mut transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut answers = Vec::with_capacity(batch.len());
    for (write, _) in batch {
        // Dropped without commit, a savepoint takes back what was begun.
        let savepoint = transaction.savepoint()?;
        answers.push(match apply(&savepoint, write) {
            Ok(id) => {
                savepoint.commit()?;
                Ok(id)
            }
            Err(error) if is_refusal(&error) => Err(WriteError::Refused(error.to_string())),
            Err(error) => return Err(error),
        });
    }
    transaction.commit()?;
    Ok(answers)
}

/// Whether trying again cannot help, because it is the row that is wrong.
fn is_refusal(error: &rusqlite::Error) -> bool {
    match error.sqlite_error_code() {
        Some(code) => matches!(
            code,
            ErrorCode::ConstraintViolation
                | ErrorCode::TypeMismatch
                | ErrorCode::TooBig
                | ErrorCode::ParameterOutOfRange
        ),
        None => true,
    }
}

/// What went wrong, for a person.
fn plainly(error: &rusqlite::Error) -> String {
    match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => "the disk is full: free some space".to_owned(),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            "another program holds the database locked: close it".to_owned()
        }
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
            format!("the database cannot be written ({error}): check the folder's permissions")
        }
        _ => format!("the disk does not take it ({error})"),
    }
}
