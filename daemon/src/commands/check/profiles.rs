//! Whether the user's own sensor profiles can be read.

use std::path::Path;

use super::Finding;
use crate::folders;
use crate::profiles::Profiles;

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
    match Profiles::load_from(folder) {
        Err(wrong) => Finding::fails(WHAT, wrong.to_string()),
        Ok(profiles) if profiles.own() == 0 => {
            Finding::ok(WHAT, format!("built-in profile; your own would be in {shown}"))
        }
        Ok(profiles) => Finding::ok(
            WHAT,
            format!("built-in profile and {} of your own in {shown}", profiles.own()),
        ),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

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
