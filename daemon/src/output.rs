//! Outputs are whole or absent: made beside their place under a name ending in `.partial`, synced
//! to disk, and renamed into it.

mod file;
mod folder;
mod resumable;

use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};

pub use file::write_file;
pub use folder::{Existing, Folder};
pub use resumable::{Begun, Resumable};

/// Why an output could not be made; each names the path and the remedy.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// A folder stands where a file is to go.
    #[error("{} is a folder: name a file", .0.display())]
    IsFolder(PathBuf),
    /// A file stands where a folder is to go.
    #[error("{} is a file: name a folder", .0.display())]
    IsFile(PathBuf),
    /// The folder around the output does not exist.
    #[error("{}: the folder {} does not exist: create it first", path.display(), parent.display())]
    NoParent {
        /// The output.
        path: PathBuf,
        /// The folder that is missing.
        parent: PathBuf,
    },
    /// The path does not end in a name.
    #[error("{} has no name of its own: name a new file or folder", .0.display())]
    NoName(PathBuf),
    /// The folder holds something and replacing it was not asked for.
    #[error(
        "{} is not empty: name another folder, or add --replace to give up all that is in it",
        .0.display()
    )]
    NotEmpty(PathBuf),
    /// The folder is one that must not be replaced as a whole.
    #[error("{} is {what}, which is never replaced: name another folder", path.display())]
    Precious {
        /// The folder.
        path: PathBuf,
        /// What it is.
        what: &'static str,
    },
    /// The system refused.
    #[error("{} {what} ({})", path.display(), remedy(source.kind()))]
    Io {
        /// What was being worked on.
        path: PathBuf,
        /// What could not be done.
        what: &'static str,
        /// What the system said.
        source: io::Error,
    },
}

impl OutputError {
    /// Tells which path the system refused what for.
    fn io(path: &Path, what: &'static str) -> impl FnOnce(io::Error) -> Self {
        move |source| Self::Io { path: path.to_owned(), what, source }
    }
}

/// What a person can do about a refusal of the system.
fn remedy(kind: io::ErrorKind) -> &'static str {
    match kind {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "free some space, or choose another disk"
        }
        io::ErrorKind::NotFound => "check that the folder is still there",
        _ => "choose a folder you may write to",
    }
}

/// The place itself: through links, so that a link stays one and its target is replaced.
///
/// # Errors
/// When the path has no name of its own, or the folder around it does not exist.
fn resolve(path: &Path) -> Result<PathBuf, OutputError> {
    if let Ok(real) = path.canonicalize() {
        return Ok(real);
    }
    let name = path.file_name().ok_or_else(|| OutputError::NoName(path.to_owned()))?;
    let parent = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    match parent.canonicalize() {
        Ok(parent) if parent.is_dir() => Ok(parent.join(name)),
        _ => Err(OutputError::NoParent { path: path.to_owned(), parent: parent.to_owned() }),
    }
}

/// The path with something added to its last name, e.g. `.partial`.
///
/// # Errors
/// When the path has no name of its own.
fn beside(path: &Path, suffix: &str) -> Result<PathBuf, OutputError> {
    let mut name: OsString =
        path.file_name().ok_or_else(|| OutputError::NoName(path.to_owned()))?.to_owned();
    name.push(suffix);
    Ok(path.with_file_name(name))
}

/// Makes a rename last: a folder's entries are on disk only once the folder itself is synced.
/// Systems that cannot sync a folder (Windows) do without.
fn sync_parent(path: &Path) {
    if let Some(Ok(folder)) = path.parent().map(std::fs::File::open) {
        folder.sync_all().ok();
    }
}
