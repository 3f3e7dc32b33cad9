//! Opening a page in the system's browser.

use std::io;
use std::process::{Command, Stdio};

/// Opens an address in the browser, and does not wait for it.
///
/// # Errors
/// When the system has no program for that.
pub(super) fn open(address: &str) -> io::Result<()> {
    let mut command = if cfg!(target_os = "macos") {
        Command::new("open")
    } else if cfg!(windows) {
        let mut command = Command::new("rundll32");
        command.arg("url.dll,FileProtocolHandler");
        command
    } else {
        Command::new("xdg-open")
    };
    let child = command
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    // It ends by itself; where it outlives this program, that is as it should be.
    drop(child);
    Ok(())
}
