//! Taking the data folder for writing: lock, checks, migrations, visits a kill left open.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::migrate::{self, STEPS};
use super::recover::end_open_visits;
use super::words::VisitState;
use super::{OpenError, Write, WriteError, write};

/// The database's file in the data folder.
pub const DATABASE_FILE: &str = "endarc.sqlite";

/// The file whose lock says that a program writes in this data folder. The operating system takes
/// the lock back when that program ends, however it ends; the file itself means nothing.
pub const LOCK_FILE: &str = "endarc.lock";

/// The file in the data folder that holds the page's address while a daemon serves it.
pub const ADDRESS_FILE: &str = "address";

/// An empty file that stands here while something cannot be saved: whoever finds it knows that the
/// end of the visit is missing. A file without content can mostly be made even on a full disk.
const NOT_SAVING_FILE: &str = "not-saving";

/// How long a write waits for another program's lock before it counts as failed. Longer than a
/// backup program's usual hold, shorter than the writer's queue is deep.
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);

/// The log file is cut back to this size after each checkpoint.
const LOG_BYTES_KEPT: i64 = 16 << 20;

/// A data folder taken for writing; nobody else can take it while this lives.
#[derive(Debug)]
pub struct Store {
    pub(super) connection: Connection,
    pub(super) not_saving: PathBuf,
    /// Visits that a kill had left open and that are ended now.
    pub recovered_visits: usize,
    /// Held, not read.
    pub(super) lock: File,
}

impl Store {
    /// Stores one thing at once, synced to disk, without a writer's thread: for commands that do
    /// nothing else. Returns its row's key.
    ///
    /// # Errors
    /// [`WriteError::Refused`] with what the database said; nothing is stored then.
    pub fn save(&mut self, write: &Write) -> Result<i64, WriteError> {
        let whole = self.connection.transaction().and_then(|transaction| {
            let id = write::apply(&transaction, write)?;
            transaction.commit()?;
            Ok(id)
        });
        whole.map_err(|error| WriteError::Refused(error.to_string()))
    }
}

/// Takes the data folder, making it where it is missing (for this user alone), and brings its
/// database to the newest shape. Visits left open are ended with their last stored sample:
/// `truncated` if the disk was not taking what was recorded, else `interrupted`.
///
/// # Errors
/// Any [`OpenError`]; a damaged, foreign or newer database is left as it is.
pub fn open(dir: &Path) -> Result<Store, OpenError> {
    make_folder(dir).map_err(|source| OpenError::Folder { dir: dir.to_owned(), source })?;
    let lock = lock(dir)?;
    let file = dir.join(DATABASE_FILE);
    let failed = |source| OpenError::of(&file, source);

    let taken = inspect(&file)?;
    let mut connection = Connection::open(&file).map_err(failed)?;
    set_up(&connection).map_err(failed)?;
    if let Some(taken @ 1..) = taken
        && taken < migrate::newest()
    {
        back_up_beside(&connection, &file, taken)?;
    }
    migrate::migrate(&mut connection, STEPS).map_err(|error| OpenError::version(&file, error))?;

    let not_saving = dir.join(NOT_SAVING_FILE);
    let state = if not_saving.exists() { VisitState::Truncated } else { VisitState::Interrupted };
    let recovered_visits = end_open_visits(&mut connection, state).map_err(failed)?;
    match fs::remove_file(&not_saving) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => {
            return Err(OpenError::Folder { dir: dir.to_owned(), source });
        }
        _ => {}
    }
    Ok(Store { connection, not_saving, recovered_visits, lock })
}

fn make_folder(dir: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(dir)
}

fn lock(dir: &Path) -> Result<File, OpenError> {
    let folder = |source| OpenError::Folder { dir: dir.to_owned(), source };
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(dir.join(LOCK_FILE))
        .map_err(folder)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            let address = fs::read_to_string(dir.join(ADDRESS_FILE)).unwrap_or_default();
            let page = match address.trim() {
                "" => String::new(),
                address => format!(" (its page: {address})"),
            };
            Err(OpenError::InUse { dir: dir.to_owned(), page })
        }
        Err(TryLockError::Error(source)) => Err(folder(source)),
    }
}

/// Looks at the database without writing: the steps it has taken, or `None` where there is none.
fn inspect(file: &Path) -> Result<Option<u32>, OpenError> {
    let bytes = |path: &Path| fs::metadata(path).map_or(0, |metadata| metadata.len());
    if bytes(file) == 0 {
        let log = side_file(file, "-wal");
        if bytes(&log) > 0 {
            return Err(OpenError::LogAlone { file: file.to_owned(), log });
        }
        return Ok(None);
    }
    let failed = |source| OpenError::of(file, source);
    let connection =
        Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(failed)?;
    connection.busy_timeout(BUSY_TIMEOUT).map_err(failed)?;
    let taken =
        migrate::version(&connection, STEPS).map_err(|error| OpenError::version(file, error))?;
    let report: String =
        connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(failed)?;
    if report != "ok" {
        return Err(OpenError::Damaged { file: file.to_owned(), reason: report });
    }
    Ok(Some(taken))
}

/// What every writing connection needs. FULL syncs each commit: a stored result survives a power
/// loss, which WAL with NORMAL does not promise.
fn set_up(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(BUSY_TIMEOUT)?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "journal_size_limit", LOG_BYTES_KEPT)
}

/// A whole copy before the shape changes: `endarc.sqlite.format-N`.
pub(super) fn back_up_beside(
    connection: &Connection,
    file: &Path,
    taken: u32,
) -> Result<(), OpenError> {
    let copy = side_file(file, &format!(".format-{taken}"));
    let partial = side_file(&copy, ".partial");
    let folder = |source| OpenError::Folder {
        dir: file.parent().map(Path::to_owned).unwrap_or_default(),
        source,
    };
    if partial.exists() {
        fs::remove_file(&partial).map_err(folder)?;
    }
    connection
        .backup("main", &partial, None::<fn(rusqlite::backup::Progress)>)
        .map_err(|source| OpenError::of(file, source))?;
    fs::rename(&partial, &copy).map_err(folder)
}

fn side_file(file: &Path, suffix: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}
