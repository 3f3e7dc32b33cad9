//! A folder for one test, gone with it.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

/// A scratch folder.
#[derive(Debug)]
pub struct Scratch(TempDir);

impl Scratch {
    /// A new and empty one.
    ///
    /// # Panics
    /// When none can be made.
    #[must_use]
    pub fn new() -> Self {
        Self(TempDir::with_prefix("endarc-test-").expect("a scratch folder can be made"))
    }

    /// The folder itself.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// A path in it; nothing is made.
    #[must_use]
    pub fn at(&self, name: &str) -> PathBuf {
        self.path().join(name)
    }

    /// A file in it with this content.
    ///
    /// # Panics
    /// When it cannot be written.
    pub fn file(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.at(name);
        fs::write(&path, content).expect("a scratch file can be written");
        path
    }

    /// The names of what is in it, sorted.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        names(self.path())
    }
}

impl Default for Scratch {
    fn default() -> Self {
        Self::new()
    }
}

/// The names of what is in a folder, sorted.
///
/// # Panics
/// When it cannot be looked into.
#[must_use]
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder can be looked into");
    let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
    let mut names: Vec<_> = entries.map(|entry| name(entry.expect("an entry"))).collect();
    names.sort();
    names
}
