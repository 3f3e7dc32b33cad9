//! Why there is no peripheral, and how BlueZ says no.

use std::io;

/// Why a peripheral cannot serve, or cannot do what it was told.
#[derive(Debug, thiserror::Error)]
pub enum PeripheralError {
    /// The bus's folder cannot be made or written.
    #[error("no folder for the message bus ({0}): check the folder for temporary files")]
    Folder(#[source] io::Error),
    /// The bus cannot be started or heard.
    #[error("the message bus cannot be started: {0}")]
    Bus(#[source] io::Error),
    /// The bus ended before it could be reached.
    #[error(
        "no message bus: dbus-daemon is not installed or did not start; install the package \
         `dbus-daemon` (on some systems `dbus`)"
    )]
    NoBus,
    /// The bus does not let the service in.
    #[error("the message bus refused the service: {0}")]
    Service(#[source] zbus::Error),
    /// A frame is longer than a notification of this MTU can be.
    #[error(
        "a frame of profile '{profile}' takes {length} bytes, but a notification holds {room}: \
         choose a larger MTU"
    )]
    FrameTooLong {
        /// The profile.
        profile: String,
        /// Bytes of the shortest frame.
        length: usize,
        /// Bytes that the MTU leaves.
        room: usize,
    },
    /// No such sensor.
    #[error("there is no sensor '{0}': name one of the scenario's, or `all`")]
    NoSensor(String),
}

/// What BlueZ answers instead of doing it, by BlueZ's own names.
#[derive(Debug, zbus::DBusError)]
#[zbus(prefix = "org.bluez.Error")]
pub(super) enum Refusal {
    /// The bus failed.
    #[zbus(error)]
    Bus(zbus::Error),
    /// It was tried and did not work.
    Failed(String),
    /// The adapter is off.
    NotReady(String),
    /// It is being done already.
    InProgress(String),
    /// There is no connection.
    NotConnected(String),
    /// The characteristic does not allow it.
    NotPermitted(String),
    /// There is a connection already.
    AlreadyConnected(String),
}
