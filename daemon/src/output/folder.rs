//! One output folder.

use std::env;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::{OutputError, beside, resolve, sync_parent};
use crate::store::DATABASE_FILE;

/// What happens to a folder that stands at the output's place and holds something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// It is kept, and the output refused.
    Refuse,
    /// The output takes its place; all that was in it is given up.
    Replace,
}

/// A folder in the making at `DIR.partial`; [`Folder::finish`] renames it into its place. Dropped
/// unfinished, it leaves nothing behind.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    partial: PathBuf,
    finished: bool,
}

impl Folder {
    /// Starts an output folder; what an interrupted run left at `DIR.partial` is given up.
    ///
    /// # Errors
    /// When a file, or a folder that must stay, is at the place, or nothing can be written there.
    pub fn create(path: &Path, existing: Existing) -> Result<Self, OutputError> {
        let place = resolve(path)?;
        if place.exists() {
            refuse_what_must_stay(path, &place, existing)?;
        }
        let partial = beside(&place, ".partial")?;
        remove(&partial)
            .and_then(|()| fs::create_dir(&partial))
            .map_err(OutputError::io(&partial, "cannot be made"))?;
        Ok(Self { place, partial, finished: false })
    }

    /// Writes one file, synced to disk; the name may lead through folders, which are made.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), OutputError> {
        let path = self.partial.join(name);
        let write = || {
            if let Some(parent) = path.parent() {
                fs::create_dir_all(parent)?;
            }
            let mut file = File::create(&path)?;
            file.write_all(bytes)?;
            file.sync_all()
        };
        write().map_err(OutputError::io(&path, "cannot be written"))
    }

    /// Renames the folder into its place. What was there is moved aside first and removed last, so
    /// that at every moment one of the two is whole on the disk.
    ///
    /// # Errors
    /// When the system refuses; what was in the place is there again then.
    pub fn finish(mut self) -> Result<(), OutputError> {
        put_in_place(&self.partial, &self.place, || self.finished = true)
    }
}

/// Renames a finished folder into its place; `placed` is called once it is there.
pub(super) fn put_in_place(
    partial: &Path,
    place: &Path,
    placed: impl FnOnce(),
) -> Result<(), OutputError> {
    let old = beside(place, ".partial-old")?;
    let had = place.exists();
    if had {
        remove(&old)
            .and_then(|()| fs::rename(place, &old))
            .map_err(OutputError::io(place, "cannot be moved aside"))?;
    }
    if let Err(source) = fs::rename(partial, place) {
        if had {
            fs::rename(&old, place).ok();
        }
        return Err(OutputError::io(place, "cannot be put in place")(source));
    }
    placed();
    sync_parent(place);
    remove(&old).map_err(OutputError::io(&old, "cannot be removed: remove it by hand"))
}

impl Drop for Folder {
    fn drop(&mut self) {
        if !self.finished {
            remove(&self.partial).ok();
        }
    }
}

/// Removes a folder and all in it; one that is not there is no error.
pub(super) fn remove(folder: &Path) -> io::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

pub(super) fn refuse_what_must_stay(
    path: &Path,
    place: &Path,
    existing: Existing,
) -> Result<(), OutputError> {
    if !place.is_dir() {
        return Err(OutputError::IsFile(path.to_owned()));
    }
    let is_empty = fs::read_dir(place)
        .map_err(OutputError::io(path, "cannot be looked into"))?
        .next()
        .is_none();
    if !is_empty && existing == Existing::Refuse {
        return Err(OutputError::NotEmpty(path.to_owned()));
    }
    precious(place)
        .map_or(Ok(()), |what| Err(OutputError::Precious { path: path.to_owned(), what }))
}

/// What a folder is, if losing it as a whole can only be a slip of the hand.
fn precious(place: &Path) -> Option<&'static str> {
    let around = |folder: io::Result<PathBuf>| {
        folder.and_then(fs::canonicalize).is_ok_and(|folder| folder.starts_with(place))
    };
    if around(env::current_dir()) {
        return Some("the folder you are in, or one around it");
    }
    if around(etcetera::home_dir().map_err(io::Error::other)) {
        return Some("your home folder, or one around it");
    }
    place.join(DATABASE_FILE).exists().then_some("a data folder with visits")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(path: &Path) -> String {
        fs::read_to_string(path).unwrap()
    }

    #[test]
    fn nothing_is_in_its_place_before_the_end() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("out");
        let folder = Folder::create(&place, Existing::Refuse).unwrap();
        folder.write("sub/a.csv", b"1").unwrap();
        assert!(!place.exists());
        folder.finish().unwrap();
        assert_eq!(read(&place.join("sub/a.csv")), "1");
        assert!(!around.path().join("out.partial").exists());
    }

    #[test]
    fn dropped_unfinished_it_leaves_nothing() {
        let around = tempfile::tempdir().unwrap();
        let folder = Folder::create(&around.path().join("out"), Existing::Refuse).unwrap();
        folder.write("a.csv", b"1").unwrap();
        drop(folder);
        assert!(fs::read_dir(around.path()).unwrap().next().is_none());
    }

    #[test]
    fn a_folder_that_holds_something_is_replaced_only_when_asked() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("out");
        fs::create_dir(&place).unwrap();
        Folder::create(&place, Existing::Refuse).unwrap().finish().unwrap();
        fs::write(place.join("mine.txt"), "kept").unwrap();
        let error = Folder::create(&place, Existing::Refuse).unwrap_err();
        assert!(error.to_string().contains("--replace"), "{error}");
        assert_eq!(read(&place.join("mine.txt")), "kept");

        let folder = Folder::create(&place, Existing::Replace).unwrap();
        folder.write("a.csv", b"1").unwrap();
        assert_eq!(read(&place.join("mine.txt")), "kept");
        folder.finish().unwrap();
        assert!(!place.join("mine.txt").exists());
        assert_eq!(fs::read_dir(around.path()).unwrap().count(), 1);
    }

    #[test]
    fn leavings_of_an_interrupted_run_do_not_stand_in_the_way() {
        let around = tempfile::tempdir().unwrap();
        for left in ["out.partial", "out.partial-old"] {
            fs::create_dir(around.path().join(left)).unwrap();
            fs::write(around.path().join(left).join("left.csv"), "half").unwrap();
        }
        let place = around.path().join("out");
        let folder = Folder::create(&place, Existing::Refuse).unwrap();
        folder.write("a.csv", b"1").unwrap();
        folder.finish().unwrap();
        assert_eq!(fs::read_dir(&place).unwrap().count(), 1);
        assert_eq!(fs::read_dir(around.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_data_folder_is_never_replaced() {
        let data = tempfile::tempdir().unwrap();
        fs::write(data.path().join(DATABASE_FILE), "visits").unwrap();
        let error = Folder::create(data.path(), Existing::Replace).unwrap_err();
        assert!(error.to_string().contains("a data folder with visits"), "{error}");
    }

    #[test]
    fn a_file_or_the_present_folder_is_never_replaced() {
        let around = tempfile::tempdir().unwrap();
        let file = around.path().join("file");
        fs::write(&file, "kept").unwrap();
        let refuse = |path: &Path| Folder::create(path, Existing::Replace).unwrap_err().to_string();
        assert!(refuse(&file).ends_with("is a file: name a folder"));
        assert!(refuse(Path::new(".")).contains("never replaced"));
        assert!(refuse(Path::new("/")).contains("never replaced"));
        assert_eq!(read(&file), "kept");
    }
}
