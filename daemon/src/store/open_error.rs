//! Why a data folder cannot be used.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use super::migrate::MigrateError;

/// Why the data folder cannot be used; each says what to do.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// The folder cannot be made, or not written to.
    #[error(
        "the data folder {} cannot be written to ({source}): give this user write access, or \
         choose another with --data-dir", dir.display()
    )]
    Folder {
        /// The folder.
        dir: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Another endarc writes there.
    #[error(
        "another endarc is using the data folder {}{page}: stop it, or choose another with \
         --data-dir", dir.display()
    )]
    InUse {
        /// The folder.
        dir: PathBuf,
        /// Where its page is, if it said so.
        page: String,
    },
    /// Another program holds the database's own lock.
    #[error(
        "the database {} is locked by another program: close whatever has it open and try again",
        file.display()
    )]
    Locked {
        /// The database.
        file: PathBuf,
    },
    /// The database was written by a newer release, or by something else.
    #[error("the database {} is not used: {reason}; nothing in it was changed", file.display())]
    Version {
        /// The database.
        file: PathBuf,
        /// What is wrong, and what to do.
        reason: String,
    },
    /// The database is damaged.
    #[error(
        "the database {} is damaged ({reason}) and was left untouched: move it away and put a \
         backup copy in its place, or choose another folder with --data-dir", file.display()
    )]
    Damaged {
        /// The database.
        file: PathBuf,
        /// What was found.
        reason: String,
    },
    /// A log file without its database.
    #[error(
        "{} has data but {} is missing or empty: put the two files that belong together back, or \
         choose another folder with --data-dir", log.display(), file.display()
    )]
    LogAlone {
        /// The database.
        file: PathBuf,
        /// Its log file.
        log: PathBuf,
    },
    /// Anything else.
    #[error(
        "the database {} cannot be opened ({source}): check that this user may write it and that \
         the disk has space", file.display()
    )]
    Sqlite {
        /// The database.
        file: PathBuf,
        /// What SQLite said.
        source: rusqlite::Error,
    },
}

impl OpenError {
    pub(super) fn of(file: &Path, source: rusqlite::Error) -> Self {
        let file = file.to_owned();
        match source.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked { file },
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                Self::Damaged { file, reason: source.to_string() }
            }
            _ => Self::Sqlite { file, source },
        }
    }

    pub(super) fn version(file: &Path, error: MigrateError) -> Self {
        match error {
            MigrateError::Sqlite(source) => Self::of(file, source),
            MigrateError::Newer { .. } => Self::Version {
                file: file.to_owned(),
                reason: format!("{error}: install the newer release of endarc"),
            },
            MigrateError::NotOurs => Self::Version {
                file: file.to_owned(),
                reason: format!("{error}: choose another folder with --data-dir"),
            },
        }
    }
}
