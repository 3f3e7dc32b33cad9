//! The writing thread: one synced transaction after another.

use std::fs::{self, File};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, TransactionBehavior};
use tokio::sync::{mpsc, oneshot, watch};

use super::words::VisitState;
use super::write::apply;
use super::{Saving, Store, Write, WriteError, recover};

/// Writes in one transaction at most: bounds what is kept in hand while the disk refuses.
const BATCH_WRITES: usize = 64;

/// Pause between two tries while the disk refuses.
const RETRY_AFTER: Duration = Duration::from_millis(250);

/// Tries before giving up when the program is to end.
const LAST_TRIES: u32 = 8;

/// What travels through the queue.
#[derive(Debug)]
pub(super) enum Job {
    Save { write: Box<Write>, reply: Option<oneshot::Sender<Result<i64, WriteError>>> },
    Close,
}

/// What the thread holds.
#[derive(Debug)]
pub(super) struct Worker {
    connection: Connection,
    jobs: mpsc::Receiver<Job>,
    saving: watch::Sender<Saving>,
    closing: Arc<AtomicBool>,
    not_saving: PathBuf,
    /// Held, not read: the data folder is taken while the thread lives.
    _lock: File,
}

impl Worker {
    pub(super) fn new(
        store: Store,
        jobs: mpsc::Receiver<Job>,
        saving: watch::Sender<Saving>,
        closing: Arc<AtomicBool>,
    ) -> Self {
        Self {
            connection: store.connection,
            jobs,
            saving,
            closing,
            not_saving: store.not_saving,
            _lock: store.lock,
        }
    }

    /// Until told to close, or until nobody is left to send.
    pub(super) fn run(&mut self) -> Result<(), WriteError> {
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

    /// At each change sets the marker file for the next start, then tells whoever listens: what is
    /// told is already true on the disk.
    fn report(&self, trouble: Option<String>) {
        let now = trouble.map_or(Saving::Ok, Saving::NotSaving);
        if *self.saving.borrow() == now {
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
        self.saving.send_replace(now);
    }

    fn finish(&mut self, close: bool) -> Result<(), WriteError> {
        let end = |connection: &mut Connection| -> rusqlite::Result<()> {
            if close {
                recover::end_open_visits(connection, VisitState::Closed)?;
            }
            // A reader may hold the log: then it is folded in at the next start or end.
            connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        };
        end(&mut self.connection).map_err(|error| WriteError::NotInOrder(plainly(&error)))
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
