//! The sensor profiles that are known: the built-in one and the user's own.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use endarc_protocol::profile::{Advertised, Profile};

use crate::folders;
use crate::source::ble::Seen;

/// Why profiles cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", .0.join("; "))]
pub struct BadProfiles(pub Vec<String>);

/// Every profile that is known.
#[derive(Debug, Clone)]
pub struct Profiles {
    known: Vec<Arc<Profile>>,
}

impl Profiles {
    /// The user's own profiles, then the built-in one.
    ///
    /// # Errors
    /// [`BadProfiles`] names each file that cannot be read, with line, field and remedy.
    pub fn load() -> Result<Self, BadProfiles> {
        match folders::profiles() {
            Ok(folder) => Self::load_from(&folder),
            // No home, no profiles of one's own.
            Err(_no_home) => Ok(Self { known: vec![Arc::new(Profile::reference())] }),
        }
    }

    /// The same with the user's own in this folder, which need not exist.
    ///
    /// # Errors
    /// [`BadProfiles`].
    pub fn load_from(folder: &Path) -> Result<Self, BadProfiles> {
        let mut known = Vec::new();
        let mut wrong = Vec::new();
        for file in files(folder).map_err(|error| BadProfiles(vec![error]))? {
            match read(&file) {
                Ok(profile) => known.push(Arc::new(profile)),
                Err(error) => wrong.push(error),
            }
        }
        if !wrong.is_empty() {
            return Err(BadProfiles(wrong));
        }
        known.push(Arc::new(Profile::reference()));
        Ok(Self { known })
    }

    /// How many there are beside the built-in one.
    #[must_use]
    pub fn own(&self) -> usize {
        self.known.len().saturating_sub(1)
    }

    /// The profile with a name.
    #[must_use]
    pub fn named(&self, name: &str) -> Option<Arc<Profile>> {
        self.known.iter().find(|profile| profile.name() == name).cloned()
    }

    /// Their names.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.known.iter().map(|profile| profile.name())
    }

    /// The first profile that a device's advertisement belongs to.
    #[must_use]
    pub(crate) fn of(&self, seen: &Seen) -> Option<Arc<Profile>> {
        let manufacturer: Vec<(u16, &[u8])> =
            seen.manufacturer.iter().map(|(id, data)| (*id, data.as_slice())).collect();
        let advertised = Advertised {
            name: seen.name.as_deref(),
            services: &seen.services,
            manufacturer: &manufacturer,
        };
        self.known.iter().find(|profile| profile.matching().accepts(advertised)).cloned()
    }
}

fn files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let shown = folder.display();
    let refuse = |error: io::Error| format!("{shown} cannot be read ({error}): see to it");
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(refuse(error)),
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(refuse)?.path();
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
    use super::*;

    #[test]
    fn the_users_own_come_first_and_a_device_gets_the_first_that_fits() {
        let folder = tempfile::tempdir().unwrap();
        let own = endarc_protocol::profile::REFERENCE_TOML
            .replace("name = \"reference\"", "name = \"mine\"");
        fs::write(folder.path().join("mine.toml"), own).unwrap();
        let profiles = Profiles::load_from(folder.path()).unwrap();
        assert_eq!(profiles.names().collect::<Vec<_>>(), ["mine", "reference"]);
        let service = Profile::reference().matching().service().unwrap();
        let seen = Seen { services: vec![service], ..Seen::default() };
        assert_eq!(profiles.of(&seen).unwrap().name(), "mine");
        assert_eq!(profiles.of(&Seen::default()), None);
    }
}
