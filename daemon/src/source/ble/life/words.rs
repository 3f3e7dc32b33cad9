//! What the connection's life is told, and what it wants done.

use super::super::trouble::Trouble;

/// Which sensor: its place in the list of those that are wanted.
pub(crate) type Which = usize;

/// One thing that is done for one sensor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    /// Find the device among those that are known.
    Find,
    /// Connect, or take over a connection that exists already.
    Connect,
    /// Find what the device offers, and hold it against its profile.
    Discover,
    /// Ask for its notifications.
    Subscribe,
    /// Write what starts its samples.
    Start,
    /// Ask whether it is still connected.
    Check,
    /// End the connection.
    Leave,
    /// Make the system forget the device.
    Forget,
}

impl Step {
    /// How long it may take, s.
    pub(crate) const fn limit_s(self) -> f64 {
        match self {
            Self::Connect => 15.0,
            Self::Discover => 10.0,
            Self::Find | Self::Subscribe | Self::Start | Self::Leave | Self::Forget => 5.0,
            Self::Check => 2.0,
        }
    }
}

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Event {
    /// Time went by.
    Tick,
    /// A radio was opened, or not.
    Opened(Result<(), Trouble>),
    /// The adapter answered whether it is on.
    Adapter(Result<bool, Trouble>),
    /// A scan was started (true) or stopped, or not.
    Scan(bool, Result<(), Trouble>),
    /// A sensor is among the devices that are seen.
    Seen(Which),
    /// A step was done, or failed.
    Done(Which, Step, Result<(), Trouble>),
    /// The adapter says that a sensor's connection came or went.
    Connected(Which, bool),
    /// A sensor's newest notification came at this moment, s.
    Data(Which, f64),
    /// The machine slept so long, s.
    Slept(f64),
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Action {
    /// Open a radio: the one before is dead. Every link goes with it.
    Open,
    /// Ask the adapter whether it is on.
    AskAdapter,
    /// Start (true) or stop a scan.
    Scan(bool),
    /// Look which sensors are seen.
    Look,
    /// Do something for a sensor.
    Do(Which, Step),
    /// Do not wait for this step any longer.
    Abandon(Which, Step),
    /// Say how a sensor is doing.
    Tell(Which, News),
    /// Say what is wrong with the radio; `None` where all is well again.
    TellRadio(Option<Trouble>),
}

/// How a sensor is doing.
#[derive(Debug, Clone, PartialEq)]
pub enum News {
    /// It is being looked for.
    Searching,
    /// It is being connected.
    Connecting,
    /// Its notifications have been asked for: what comes now belongs to a new epoch of its clock.
    Up,
    /// It is connected and sends samples.
    Streaming,
    /// It is connected, but says nothing.
    Silent,
    /// Its link is lost; it is taken up again.
    Lost(Cause),
    /// An attempt failed; there will be another.
    Failed(Trouble),
    /// It is not tried any more.
    GivenUp(Trouble),
}

/// Why a link is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The connection ended.
    LinkLost,
    /// It was connected, but said nothing.
    Silent,
    /// The computer slept.
    HostAsleep,
}
