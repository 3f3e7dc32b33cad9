//! Where things are kept on this machine.
//!
//! | | data | settings |
//! | --- | --- | --- |
//! | Linux | `$XDG_DATA_HOME/endarc` or `~/.local/share/endarc` | `$XDG_CONFIG_HOME/endarc` or `~/.config/endarc` |
//! | macOS | `~/Library/Application Support/endarc` | `~/Library/Preferences/endarc` |
//! | Windows | `%LOCALAPPDATA%\endarc` | `%APPDATA%\endarc` |
//!
//! (XDG Base Directory Specification 0.8; the two others by their systems' habit.)

use std::path::{Path, PathBuf};

use etcetera::base_strategy::{BaseStrategy, choose_native_strategy};

const NAME: &str = "endarc";

/// No home folder is known, so there is no place to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("no home folder is known: set HOME, or name the data folder with --data-dir DIR")]
pub struct NoHome;

/// The folder of visits: the one that was named, or the user's own.
///
/// # Errors
/// [`NoHome`], if none was named.
pub fn data(named: Option<&Path>) -> Result<PathBuf, NoHome> {
    match named {
        Some(folder) => Ok(folder.to_owned()),
        None => Ok(own_data()?.join(NAME)),
    }
}

/// The folder of the user's own sensor profiles, `*.toml`.
///
/// # Errors
/// [`NoHome`].
pub fn profiles() -> Result<PathBuf, NoHome> {
    Ok(strategy()?.config_dir().join(NAME).join("profiles"))
}

/// Windows copies its roaming folder to a server at every log-out, which is no place for visits.
fn own_data() -> Result<PathBuf, NoHome> {
    let folders = strategy()?;
    Ok(if cfg!(windows) { folders.cache_dir() } else { folders.data_dir() })
}

fn strategy() -> Result<impl BaseStrategy, NoHome> {
    choose_native_strategy().map_err(|_no_home| NoHome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_named_folder_is_taken_as_it_is() {
        assert_eq!(data(Some(Path::new("here"))), Ok(PathBuf::from("here")));
    }

    #[test]
    fn folders_of_ones_own_bear_the_programs_name() {
        assert!(data(None).unwrap().ends_with(NAME));
        assert!(profiles().unwrap().ends_with("endarc/profiles"));
    }
}
