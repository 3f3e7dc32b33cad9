//! One output folder that an interrupted run leaves half made, and the next one goes on with.

use std::fs::{self, File};
use std::io::{BufWriter, IntoInnerError, Write};
use std::path::{Path, PathBuf};

use super::folder::{put_in_place, refuse_what_must_stay, remove};
use super::{Existing, OutputError, beside, resolve};

/// What the folder is made for, and what whoever makes it has to remember; gone once it is whole.
const STATE: &str = ".unfinished";

/// A folder in the making at `DIR.partial`. Every file in it under its own name is whole, so a run
/// that goes on makes only those that are not there. Dropped unfinished, it stays.
#[derive(Debug)]
pub struct Resumable {
    place: PathBuf,
    partial: PathBuf,
    remembered: String,
    resumed: bool,
}

impl Resumable {
    /// Goes on with what an interrupted run left at `DIR.partial`, if that was made for the same
    /// `purpose`; else begins anew. `remember` gives what the runs share, such as drawn numbers; it
    /// is asked only where the folder is begun.
    ///
    /// # Errors
    /// When a file, or a folder that must stay, is at the place, or nothing can be written there.
    pub fn open(
        path: &Path,
        existing: Existing,
        purpose: &str,
        remember: impl FnOnce() -> String,
    ) -> Result<Self, OutputError> {
        let place = resolve(path)?;
        if place.exists() {
            refuse_what_must_stay(path, &place, existing)?;
        }
        let partial = beside(&place, ".partial")?;
        let state = partial.join(STATE);
        let left = fs::read_to_string(&state).unwrap_or_default();
        if let Some((for_what, remembered)) = left.split_once('\n')
            && for_what == purpose
        {
            let remembered = remembered.to_owned();
            return Ok(Self { place, partial, remembered, resumed: true });
        }
        let remembered = remember();
        let folder = Self { place, partial, remembered, resumed: false };
        remove(&folder.partial)
            .and_then(|()| fs::create_dir(&folder.partial))
            .map_err(OutputError::io(&folder.partial, "cannot be made"))?;
        let mut file = folder.begin(STATE)?;
        write!(file, "{purpose}\n{}", folder.remembered)
            .map_err(OutputError::io(&state, "cannot be written"))?;
        file.commit()?;
        Ok(folder)
    }

    /// Whether an interrupted run is gone on with.
    #[must_use]
    pub const fn resumed(&self) -> bool {
        self.resumed
    }

    /// What the runs share.
    #[must_use]
    pub fn remembered(&self) -> &str {
        &self.remembered
    }

    /// Whether a file is there, whole.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.partial.join(name).is_file()
    }

    /// Where a file of the folder in the making is.
    #[must_use]
    pub fn path(&self, name: &str) -> PathBuf {
        self.partial.join(name)
    }

    /// Begins a file; the name may lead through folders, which are made. It gets its name when it is
    /// committed.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn begin(&self, name: &str) -> Result<Begun, OutputError> {
        let path = self.partial.join(name);
        let making = beside(&path, ".making")?;
        let create = || {
            if let Some(parent) = path.parent() {
                fs::create_dir_all(parent)?;
            }
            File::create(&making)
        };
        let file = create().map_err(OutputError::io(&path, "cannot be made"))?;
        Ok(Begun { path, making, out: BufWriter::with_capacity(1 << 16, file) })
    }

    /// The names of the files in it, sorted, with `/` between folders.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn names(&self) -> Result<Vec<String>, OutputError> {
        let mut names = Vec::new();
        let mut folders = vec![self.partial.clone()];
        while let Some(folder) = folders.pop() {
            let looked = OutputError::io(&folder, "cannot be looked into");
            let entries = fs::read_dir(&folder).and_then(Iterator::collect::<Result<Vec<_>, _>>);
            for path in entries.map_err(looked)?.into_iter().map(|entry| entry.path()) {
                match path.strip_prefix(&self.partial) {
                    Ok(_) if path.is_dir() => folders.push(path),
                    Ok(name) => names.push(name.to_string_lossy().replace('\\', "/")),
                    // Every entry lies below the folder that was looked into.
                    Err(_elsewhere) => {}
                }
            }
        }
        names.retain(|name| name != STATE && !name.ends_with(".making"));
        names.sort();
        Ok(names)
    }

    /// Renames the folder into its place, as [`super::Folder::finish`] does.
    ///
    /// # Errors
    /// When the system refuses; what was in the place is there again then.
    pub fn finish(self) -> Result<(), OutputError> {
        let state = self.partial.join(STATE);
        fs::remove_file(&state).map_err(OutputError::io(&state, "cannot be removed"))?;
        put_in_place(&self.partial, &self.place, || ())
    }
}

/// A file in the making.
#[derive(Debug)]
pub struct Begun {
    path: PathBuf,
    making: PathBuf,
    out: BufWriter<File>,
}

impl Begun {
    /// Where it is going to be.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Syncs it to disk and gives it its name.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn commit(self) -> Result<(), OutputError> {
        let Self { path, making, out } = self;
        out.into_inner()
            .map_err(IntoInnerError::into_error)
            .and_then(|file| file.sync_all())
            .and_then(|()| fs::rename(&making, &path))
            .map_err(OutputError::io(&path, "cannot be written"))
    }
}

impl Write for Begun {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.out.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(path: &Path, purpose: &str, remember: &str) -> Resumable {
        Resumable::open(path, Existing::Refuse, purpose, || remember.to_owned()).unwrap()
    }

    fn put(folder: &Resumable, name: &str, text: &str) {
        let mut file = folder.begin(name).unwrap();
        file.write_all(text.as_bytes()).unwrap();
        file.commit().unwrap();
    }

    #[test]
    fn the_next_run_goes_on_where_the_last_was_interrupted() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("out");
        let first = open(&place, "all visits", "seed 1");
        put(&first, "deep/whole.csv", "1");
        first.begin("deep/half.csv").unwrap().write_all(b"2").unwrap();
        drop(first);
        assert!(!place.exists());

        let next = open(&place, "all visits", "seed 2");
        assert!(next.resumed());
        assert_eq!(next.remembered(), "seed 1");
        assert!(next.has("deep/whole.csv") && !next.has("deep/half.csv"));
        assert_eq!(next.names().unwrap(), ["deep/whole.csv"]);
        put(&next, "deep/half.csv", "22");
        next.finish().unwrap();
        assert_eq!(fs::read_to_string(place.join("deep/half.csv")).unwrap(), "22");
        assert!(!place.join(STATE).exists());
        assert_eq!(fs::read_dir(around.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_was_made_for_something_else_is_given_up() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("out");
        let first = open(&place, "all visits", "seed 1");
        put(&first, "a.csv", "1");
        drop(first);
        let other = open(&place, "one visit", "seed 2");
        assert!(!other.resumed() && !other.has("a.csv"));
        assert_eq!(other.remembered(), "seed 2");
    }
}
