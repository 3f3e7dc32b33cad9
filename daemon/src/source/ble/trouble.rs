//! What can go wrong with a Bluetooth call, sorted by what is to be done about it.

use uuid::Uuid;

/// Why a call failed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// There is no adapter.
    #[error("there is no Bluetooth adapter: plug one in, or switch it on")]
    NoAdapter,
    /// The adapter is switched off.
    #[error("Bluetooth is switched off: switch it on")]
    Off,
    /// The user may not use Bluetooth.
    #[error(
        "you may not use Bluetooth: allow it in the system's settings (Linux: join the group \
         bluetooth and log in again)"
    )]
    Refused,
    /// The Bluetooth service does not run.
    #[error("no Bluetooth service is running: install and start it (Linux: bluez)")]
    NoService,
    /// The connection to the Bluetooth service is dead.
    #[error("the Bluetooth service does not answer: it may have to be restarted")]
    NoBus,
    /// No such device is known: it was not seen yet.
    #[error("the sensor was not seen: switch it on, and bring it near")]
    NotSeen,
    /// The system has forgotten the device.
    #[error("the system has forgotten the sensor")]
    Forgotten,
    /// The same is being done already.
    #[error("the system is busy with this sensor already")]
    InProgress,
    /// The device and the system do not trust one another.
    #[error("pairing failed: remove the sensor's pairing in the system's settings and pair again")]
    Authentication,
    /// The device is not connected.
    #[error("the sensor is not connected")]
    NotConnected,
    /// It took too long.
    #[error("it took too long")]
    TimedOut,
    /// The device does not offer what its profile says.
    #[error("the sensor does not offer characteristic {0}: does its profile fit?")]
    Lacks(Uuid),
    /// Anything else, in the system's words.
    #[error("{0}")]
    Other(String),
}

impl Trouble {
    /// Whether it is the radio's, not one device's.
    pub(crate) const fn is_the_radios(&self) -> bool {
        matches!(self, Self::NoAdapter | Self::Off | Self::Refused | Self::NoService | Self::NoBus)
    }

    /// Sorts what a Bluetooth service said. BlueZ's words were seen, those of access rules and of
    /// other systems are from memory.
    pub(crate) fn of_text(text: &str) -> Self {
        let has = |words: &[&str]| words.iter().any(|word| text.contains(word));
        if has(&["Rejected send message", "ot authorized", "ot Authorized", "ermission denied"])
            || text.contains("Access denied")
        {
            Self::Refused
        } else if has(&["not provided by any .service files", "not activatable", "no owner"])
            || text.contains("disconnected from message bus without replying")
        {
            Self::NoService
        } else if has(&["connect to socket", "Disconnected", "Connection is closed", "NoReply"])
            || has(&["Did not receive a reply", "D-Bus connection", "Not connected to the bus"])
        {
            Self::NoBus
        } else if has(&["not-powered", "not powered", "Not Powered", "Resource Not Ready"]) {
            Self::Off
        } else if has(&["lready in progress", "In Progress", "InProgress"]) {
            Self::InProgress
        } else if has(&["uthentication", "encryption", "Encryption"]) {
            Self::Authentication
        } else if has(&["Unknown object", "UnknownObject", "Unknown method", "Does Not Exist"])
            || has(&["UnknownMethod", "doesn't exist", "Device not found", "No such interface"])
        {
            Self::Forgotten
        } else if has(&["ot connected", "Not Connected"]) {
            Self::NotConnected
        } else if has(&["imed out", "imeout"]) {
            Self::TimedOut
        } else {
            Self::Other(text.to_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Texts as BlueZ 5.66 and dbus-daemon 1.14 gave them.
    #[test]
    fn each_refusal_is_sorted_by_what_is_to_be_done() {
        let cases = [
            ("Rejected send message, 2 matched rules; type=\"method_call\"", Trouble::Refused),
            ("The name org.bluez was not provided by any .service files", Trouble::NoService),
            ("Failed to connect to socket /run/dbus: No such file", Trouble::NoBus),
            ("br-connection-adapter-not-powered", Trouble::Off),
            ("Operation already in progress", Trouble::InProgress),
            ("Unknown object '/org/bluez/hci0/dev_F0'", Trouble::Forgotten),
            ("Not connected", Trouble::NotConnected),
            ("Service discovery timed out", Trouble::TimedOut),
        ];
        for (text, trouble) in cases {
            assert_eq!(Trouble::of_text(text), trouble, "{text}");
        }
        let other = "le-connection-abort-by-local";
        assert_eq!(Trouble::of_text(other), Trouble::Other(other.to_owned()));
    }
}
