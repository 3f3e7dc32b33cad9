//! A message bus of its own: a `dbus-daemon` with its own configuration and socket.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

use super::error::PeripheralError;

/// Anybody on this machine who can reach the socket may do everything; only its owner can.
const CONFIGURATION: &str = r#"<busconfig>
  <listen>@ADDRESS@</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow user="*"/>
    <allow own="*"/>
    <allow send_type="method_call"/>
    <allow send_type="signal"/>
    <allow send_requested_reply="true" send_type="method_return"/>
    <allow send_requested_reply="true" send_type="error"/>
    <allow receive_type="method_call"/>
    <allow receive_type="method_return"/>
    <allow receive_type="error"/>
    <allow receive_type="signal"/>@REFUSED@
  </policy>
</busconfig>
"#;

/// What the rules of a system say to a user who may not use Bluetooth.
const REFUSED: &str = r#"
    <deny send_destination="org.bluez" send_type="method_call"/>"#;

/// Runs the bus for as long as the shell's own input stays open, so that it ends with this program
/// even where that is killed.
const KEEP: &str = r#"dbus-daemon --config-file="$1" --nofork --nopidfile --print-address=1 &
bus=$!
exec >&-
cat >/dev/null
kill $bus
wait $bus"#;

/// A running message bus; it ends when dropped.
#[derive(Debug)]
pub(super) struct Bus {
    folder: TempDir,
    address: String,
    keeper: Option<Child>,
    /// Whether it lets clients call bluetoothd.
    permits: bool,
}

impl Bus {
    /// Starts one and waits until it can be reached.
    pub(super) fn start() -> Result<Self, PeripheralError> {
        let folder = tempfile::Builder::new().prefix("endarc-bus-").tempdir();
        let folder = folder.map_err(PeripheralError::Folder)?;
        // Without the identity that the daemon adds: it would be another after a restart.
        let address = format!("unix:path={}", folder.path().join("socket").display());
        let mut bus = Self { folder, address, keeper: None, permits: true };
        bus.restart()?;
        Ok(bus)
    }

    /// Where it can be reached; the same after a restart.
    pub(super) fn address(&self) -> &str {
        &self.address
    }

    /// Ends it, as a crash of the message bus would.
    pub(super) fn kill(&mut self) {
        if let Some(mut keeper) = self.keeper.take() {
            drop(keeper.stdin.take());
            // Nothing is left to do where it cannot be waited for.
            keeper.wait().ok();
        }
    }

    /// Starts it again at the same address.
    pub(super) fn restart(&mut self) -> Result<(), PeripheralError> {
        self.kill();
        let configuration = self.configure()?;
        let mut keeper = Command::new("sh")
            .args(["-c", KEEP, "sh"])
            .arg(&configuration)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            // It complains about the limit of open files, which is none of our business.
            .stderr(Stdio::null())
            .spawn()
            .map_err(PeripheralError::Bus)?;
        let mut line = String::new();
        if let Some(out) = keeper.stdout.take() {
            BufReader::new(out).read_line(&mut line).map_err(PeripheralError::Bus)?;
        }
        self.keeper = Some(keeper);
        if line.is_empty() {
            return Err(PeripheralError::NoBus);
        }
        Ok(())
    }
}

impl Bus {
    /// Lets clients call bluetoothd, or not, from the moment it reads its configuration again.
    pub(super) fn permit(&mut self, permits: bool) -> Result<(), PeripheralError> {
        self.permits = permits;
        self.configure().map(|_file| ())
    }

    fn configure(&self) -> Result<PathBuf, PeripheralError> {
        let file = self.folder.path().join("bus.conf");
        let text = CONFIGURATION
            .replace("@ADDRESS@", &self.address)
            .replace("@REFUSED@", if self.permits { "" } else { REFUSED });
        fs::write(&file, text).map_err(PeripheralError::Folder)?;
        Ok(file)
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        self.kill();
    }
}
