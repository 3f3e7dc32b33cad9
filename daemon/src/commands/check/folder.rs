//! The data folder: may it be written, who else may read it, and is there room.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process;

use super::Finding;

const PERMISSIONS: &str = "permissions";
const DISK: &str = "disk";

/// Below this a visit might not fit: an hour of four sensors at 200 Hz is 2.9 million samples,
/// some 60 MB at twenty bytes each.
const LEAST_BYTES: u64 = 100_000_000;
/// Below this the disk will be full before long.
const COMFORT_BYTES: u64 = 1_000_000_000;

/// Whether the data folder may be written (or made), by writing in it.
pub(super) fn permissions(data: &Path) -> Finding {
    let shown = data.display();
    let there = nearest(data);
    if !there.is_dir() {
        return Finding::fails(
            PERMISSIONS,
            format!("{} is a file: name a folder with --data-dir DIR", there.display()),
        );
    }
    if let Err(error) = try_to_write(&there) {
        return Finding::fails(
            PERMISSIONS,
            format!(
                "{} may not be written ({error}): change its permissions, or name another \
                 folder with --data-dir DIR",
                there.display()
            ),
        );
    }
    if there != data {
        return Finding::ok(PERMISSIONS, format!("{shown} will be made at the first visit"));
    }
    match others_may_read(data) {
        true => Finding::note(
            PERMISSIONS,
            format!("{shown} may be read by others on this machine: chmod 700 '{shown}'"),
        ),
        false => Finding::ok(PERMISSIONS, format!("{shown} may be written")),
    }
}

/// Whether there is room for a visit.
pub(super) fn disk(data: &Path) -> Finding {
    let free = match fs4::available_space(nearest(data)) {
        Ok(free) => free,
        Err(error) => return Finding::note(DISK, format!("free space not known: {error}")),
    };
    judge_space(free)
}

fn judge_space(free_bytes: u64) -> Finding {
    let free = format!("{}.{} GB free", free_bytes / 1_000_000_000, free_bytes / 100_000_000 % 10);
    if free_bytes < LEAST_BYTES {
        Finding::fails(DISK, format!("{free}: a visit may not fit, free some space"))
    } else if free_bytes < COMFORT_BYTES {
        Finding::note(DISK, format!("{free}: free some space soon"))
    } else {
        Finding::ok(DISK, free)
    }
}

/// The folder, or as long as it does not exist, the nearest one around it that does.
fn nearest(data: &Path) -> PathBuf {
    let around = data.ancestors().filter(|one| !one.as_os_str().is_empty());
    let mut existing = around.filter(|one| one.exists());
    existing.next().unwrap_or_else(|| Path::new(".")).to_owned()
}

fn try_to_write(folder: &Path) -> io::Result<()> {
    let probe = folder.join(format!(".endarc-check-{}", process::id()));
    fs::write(&probe, b"endarc")?;
    fs::remove_file(&probe)
}

/// Whether the folder's mode lets anybody but its owner look into it.
#[cfg(unix)]
fn others_may_read(folder: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::metadata(folder).is_ok_and(|found| found.permissions().mode() & 0o077 != 0)
}

/// Elsewhere the folder of a user is the user's own by the system's habit.
#[cfg(not(unix))]
fn others_may_read(_folder: &Path) -> bool {
    false
}

#[cfg(test)]
mod tests {
    use super::super::State;
    use super::*;

    #[test]
    fn a_folder_that_does_not_exist_yet_is_well_and_is_not_made() {
        let around = tempfile::tempdir().unwrap();
        let data = around.path().join("not").join("yet");
        let finding = permissions(&data);
        assert_eq!(finding.state, State::Ok, "{finding:?}");
        assert!(fs::read_dir(around.path()).unwrap().next().is_none());
    }

    #[test]
    fn a_file_in_its_place_fails() {
        let file = tempfile::NamedTempFile::new().unwrap();
        assert_eq!(permissions(file.path()).state, State::Fails);
        assert_eq!(permissions(&file.path().join("below")).state, State::Fails);
    }

    #[cfg(unix)]
    #[test]
    fn a_folder_others_may_read_is_noted() {
        use std::os::unix::fs::PermissionsExt;
        let data = tempfile::tempdir().unwrap();
        let set =
            |mode| fs::set_permissions(data.path(), fs::Permissions::from_mode(mode)).unwrap();
        set(0o755);
        assert_eq!(permissions(data.path()).state, State::Note);
        set(0o700);
        assert_eq!(permissions(data.path()).state, State::Ok);
    }

    #[test]
    fn too_little_room_fails() {
        assert_eq!(judge_space(50_000_000).state, State::Fails);
        assert_eq!(judge_space(500_000_000).state, State::Note);
        let room = judge_space(12_340_000_000);
        assert_eq!((room.state, room.text.as_str()), (State::Ok, "12.3 GB free"));
    }
}
