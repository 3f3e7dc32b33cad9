//! One output file.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

use super::{OutputError, beside, resolve, sync_parent};

/// Writes a file that is either whole or not there; one that exists is replaced in one step, and
/// stays as it is when anything fails. A device or pipe is written straight through.
///
/// # Errors
/// Any [`OutputError`]; nothing is left behind then.
pub fn write_file(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), OutputError> {
    if path.is_dir() {
        return Err(OutputError::IsFolder(path.to_owned()));
    }
    // Replacing a device by a file would break it for everybody.
    if fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        let opened = File::options().write(true).open(path);
        return opened
            .and_then(|device| fill(device, write).map(drop))
            .map_err(OutputError::io(path, "cannot be written"));
    }
    let place = resolve(path)?;
    let partial = beside(&place, ".partial")?;
    let made = File::create(&partial)
        .and_then(|file| fill(file, write)?.sync_all())
        .and_then(|()| fs::rename(&partial, &place));
    if made.is_err() && partial.is_file() {
        fs::remove_file(&partial).ok();
    }
    made.map_err(OutputError::io(path, "cannot be written"))?;
    sync_parent(&place);
    Ok(())
}

fn fill(file: File, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<File> {
    let mut writer = BufWriter::with_capacity(1 << 16, file);
    write(&mut writer)?;
    writer.into_inner().map_err(io::IntoInnerError::into_error)
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;

    fn names(folder: &Path) -> Vec<PathBuf> {
        let entries = fs::read_dir(folder).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into()).collect()
    }

    #[test]
    fn what_exists_is_replaced_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.csv");
        fs::write(&path, "old and longer").unwrap();
        write_file(&path, |out| out.write_all(b"new")).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(folder.path()), [PathBuf::from("out.csv")]);
    }

    #[test]
    fn a_failure_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.csv");
        fs::write(&path, "old").unwrap();
        let error = write_file(&path, |out| {
            out.write_all(b"half")?;
            Err(io::ErrorKind::StorageFull.into())
        })
        .unwrap_err();
        assert!(error.to_string().contains("free some space"), "{error}");
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(folder.path()), [PathBuf::from("out.csv")]);
    }

    #[test]
    fn a_folder_or_a_missing_folder_is_refused_with_its_path() {
        let folder = tempfile::tempdir().unwrap();
        let refuse = |path: &Path| write_file(path, |_| Ok(())).unwrap_err().to_string();
        assert!(refuse(folder.path()).ends_with("is a folder: name a file"));
        let lost = refuse(&folder.path().join("gone").join("out.csv"));
        assert!(lost.contains("does not exist: create it first"), "{lost}");
        assert!(names(folder.path()).is_empty());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_its_target_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let (target, link) = (folder.path().join("target"), folder.path().join("link"));
        fs::write(&target, "old").unwrap();
        std::os::unix::fs::symlink(&target, &link).unwrap();
        write_file(&link, |out| out.write_all(b"new")).unwrap();
        assert_eq!(fs::read(&target).unwrap(), b"new");
        assert!(link.is_symlink());
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_written_not_replaced() {
        write_file(Path::new("/dev/null"), |out| out.write_all(b"x")).unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
    }
}
