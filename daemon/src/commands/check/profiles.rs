//! Whether the user's own sensor profiles can be read.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use endarc_protocol::profile::Profile;

use super::Finding;
use crate::folders;

const WHAT: &str = "profiles";

/// Reads every `*.toml` of the user's profile folder.
pub(super) fn check() -> Finding {
    match folders::profiles() {
        Ok(folder) => check_in(&folder),
        Err(error) => Finding::note(WHAT, error.to_string()),
    }
}

fn check_in(folder: &Path) -> Finding {
    let shown = folder.display();
    let files = match profile_files(folder) {
        Ok(files) => files,
        Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
        Err(error) => {
            return Finding::fails(WHAT, format!("{shown} cannot be read ({error}): see to it"));
        }
    };
    let wrong: Vec<_> = files.iter().filter_map(|file| read(file).err()).collect();
    if !wrong.is_empty() {
        Finding::fails(WHAT, wrong.join("; "))
    } else if files.is_empty() {
        Finding::ok(WHAT, format!("built-in profile; your own would be in {shown}"))
    } else {
        Finding::ok(WHAT, format!("built-in profile and {} of your own in {shown}", files.len()))
    }
}

fn profile_files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn read(file: &Path) -> Result<Profile, String> {
    let shown = file.display();
    let text = fs::read_to_string(file)
        .map_err(|error| format!("{shown} cannot be read ({error}): see to it, or remove it"))?;
    Profile::parse(&shown.to_string(), &text).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::super::State;
    use super::*;

    #[test]
    fn a_folder_that_does_not_exist_is_well() {
        let around = tempfile::tempdir().unwrap();
        assert_eq!(check_in(&around.path().join("profiles")).state, State::Ok);
    }

    #[test]
    fn a_broken_profile_fails_and_is_named_and_other_files_are_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("notes.txt"), "not a profile").unwrap();
        assert_eq!(check_in(folder.path()).state, State::Ok);
        fs::write(folder.path().join("mine.toml"), "name = 3").unwrap();
        let finding = check_in(folder.path());
        assert_eq!(finding.state, State::Fails);
        assert!(finding.text.contains("mine.toml"), "{finding:?}");
    }
}
