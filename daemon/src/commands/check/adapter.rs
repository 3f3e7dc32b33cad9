//! Whether Bluetooth can be used.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use btleplug::api::{Central, CentralState, Manager as _};
use btleplug::platform::Manager;

use super::Finding;
use crate::error;

const WHAT: &str = "adapter";

/// A healthy Bluetooth service answers within milliseconds.
const PATIENCE: Duration = Duration::from_secs(4);

/// One Bluetooth adapter.
#[derive(Debug)]
struct Adapter {
    name: String,
    state: CentralState,
}

/// Asks the system's Bluetooth service, with a time limit.
pub(super) fn check() -> Finding {
    // The connection to the service may block for good; on a thread of its own that harms nobody.
    let (answer, answered) = mpsc::sync_channel(1);
    let asking = thread::Builder::new()
        .name("check-adapter".to_owned())
        .spawn(move || answer.send(ask()).ok());
    if let Err(error) = asking {
        return Finding::note(WHAT, format!("could not be asked for: {error}"));
    }
    match answered.recv_timeout(PATIENCE) {
        Ok(Ok(adapters)) => judge(&adapters),
        Ok(Err(reason)) => refused(&reason),
        Err(_no_answer) => Finding::note(
            WHAT,
            format!(
                "the Bluetooth service did not answer within {} s: restart it",
                PATIENCE.as_secs()
            ),
        ),
    }
}

fn ask() -> Result<Vec<Adapter>, String> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| error::chain(&error))?;
    let adapters = runtime.block_on(adapters());
    runtime.shutdown_background();
    adapters.map_err(|error| error::chain(&error))
}

async fn adapters() -> Result<Vec<Adapter>, btleplug::Error> {
    let mut found = Vec::new();
    for adapter in Manager::new().await?.adapters().await? {
        found.push(Adapter {
            name: adapter.adapter_info().await?,
            state: adapter.adapter_state().await?,
        });
    }
    Ok(found)
}

fn judge(adapters: &[Adapter]) -> Finding {
    let off = |adapter: &&Adapter| adapter.state == CentralState::PoweredOff;
    let names: Vec<_> = adapters.iter().map(|one| one.name.as_str()).collect();
    if adapters.is_empty() {
        Finding::note(
            WHAT,
            "no Bluetooth adapter: plug one in, or switch it on in the system's settings",
        )
    } else if adapters.iter().filter(off).count() == adapters.len() {
        Finding::note(WHAT, format!("{} is switched off: switch Bluetooth on", names.join(", ")))
    } else {
        Finding::ok(WHAT, names.join(", "))
    }
}

/// What the service's refusal means. Only its words come through: those of dbus-daemon were seen,
/// those of dbus-broker and of the access rules are from memory.
fn refused(reason: &str) -> Finding {
    let has = |words: &[&str]| words.iter().any(|word| reason.contains(word));
    let remedy = if has(&[
        "Rejected send message",
        "not authorized",
        "Not Authorized",
        "Access denied",
        "Permission denied",
    ]) {
        "you may not use Bluetooth: allow it in the system's settings (Linux: join the group \
         bluetooth and log in again)"
    } else if has(&["not provided by any .service files", "not activatable", "no owner"]) {
        "no Bluetooth service is running: install and start it (Linux: bluez)"
    } else if has(&["connect to socket"]) {
        "no system bus, so no Bluetooth: start D-Bus and the Bluetooth service (Linux: bluez)"
    } else {
        "Bluetooth cannot be used: check that it is there and switched on"
    };
    Finding::note(WHAT, format!("{remedy} ({reason})"))
}

#[cfg(test)]
mod tests {
    use super::super::State;
    use super::*;

    fn adapter(state: CentralState) -> Adapter {
        Adapter { name: "hci0".to_owned(), state }
    }

    #[test]
    fn one_adapter_that_is_on_is_enough() {
        let mut adapters = vec![adapter(CentralState::PoweredOff)];
        let off = judge(&adapters);
        assert_eq!(off.state, State::Note);
        assert!(off.text.contains("switched off"));
        adapters.push(adapter(CentralState::PoweredOn));
        assert_eq!(judge(&adapters).state, State::Ok);
        assert!(judge(&[]).text.contains("plug one in"));
    }

    #[test]
    fn each_refusal_has_its_remedy() {
        let text = |reason: &str| refused(reason).text;
        let rejected = "Rejected send message, 2 matched rules; type=\"method_call\"";
        assert!(text(rejected).contains("join the group"));
        let unknown = "The name org.bluez was not provided by any .service files";
        assert!(text(unknown).contains("install and start it"));
        assert!(text("Failed to connect to socket /run/dbus: No such file").contains("D-Bus"));
    }
}
