//! What may go wrong, as text: a word, the sensor it befalls, and how much of it.

use std::fmt;
use std::str::FromStr;

use endarc_protocol::words::SensorRole;

/// Something that goes wrong, or is put right.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Fault {
    /// `lose WHICH N`: the next N notifications are lost.
    Lose(Which, u32),
    /// `repeat WHICH N`: the next N notifications come twice.
    Repeat(Which, u32),
    /// `swap WHICH N`: N times, a notification comes after the one that follows it.
    Swap(Which, u32),
    /// `corrupt WHICH N`: the next N notifications come with a bit turned.
    Corrupt(Which, u32),
    /// `burst WHICH S`: everything is held up for S seconds and then comes at once.
    Burst(Which, f64),
    /// `silence WHICH S`: nothing comes for S seconds, though the link stands.
    Silence(Which, f64),
    /// `reset WHICH`: counter and clock start from zero, though the link stands.
    Reset(Which),
    /// `shake WHICH S`: somebody takes it and shakes it for S seconds.
    Shake(Which, f64),
    /// `disconnect WHICH`: the link is lost.
    Disconnect(Which),
    /// `remove WHICH`: bluetoothd forgets the sensor.
    Remove(Which),
    /// `refuse WHICH N`: the next N attempts to connect are refused.
    Refuse(Which, u32),
    /// `away WHICH`: out of reach; the link is lost.
    Away(Which),
    /// `near WHICH`: in reach again.
    Near(Which),
    /// `battery WHICH PERCENT`: the battery's level is another.
    Battery(Which, u8),
    /// `adapter off` or `adapter on`.
    Power(bool),
    /// `adapter unplugged` or `adapter plugged`.
    Plug(bool),
    /// `bluetoothd gone` or `bluetoothd back`.
    Bluetoothd(bool),
    /// `bus killed` or `bus back`.
    Bus(bool),
    /// `permission refused` or `permission granted`: whether the bus lets a client call bluetoothd.
    Permission(bool),
}

/// Which sensors something befalls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Every one.
    All,
    /// The one worn there.
    Worn(SensorRole),
    /// A spare one that lies on the table, counted from 1.
    Spare(usize),
}

impl Fault {
    /// Whom it befalls; `None` where that is no single sensor.
    pub(super) const fn whom(&self) -> Option<Which> {
        match self {
            Self::Power(_)
            | Self::Plug(_)
            | Self::Bluetoothd(_)
            | Self::Bus(_)
            | Self::Permission(_) => None,
            Self::Lose(which, _)
            | Self::Repeat(which, _)
            | Self::Swap(which, _)
            | Self::Corrupt(which, _)
            | Self::Refuse(which, _)
            | Self::Burst(which, _)
            | Self::Silence(which, _)
            | Self::Shake(which, _)
            | Self::Battery(which, _)
            | Self::Reset(which)
            | Self::Disconnect(which)
            | Self::Remove(which)
            | Self::Away(which)
            | Self::Near(which) => Some(*which),
        }
    }
}

impl fmt::Display for Which {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::All => f.write_str("all"),
            Self::Worn(role) => role.fmt(f),
            Self::Spare(number) => write!(f, "spare-{number}"),
        }
    }
}

/// A text that says no fault.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "'{0}' is no fault: write e.g. `lose left-shank 3`, `silence pelvis 2.5`, `disconnect all`, \
     `adapter off`, `bluetoothd gone` or `bus killed`"
)]
pub struct FaultError(String);

impl FromStr for Fault {
    type Err = FaultError;

    fn from_str(text: &str) -> Result<Self, FaultError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        parsed(&words).ok_or_else(|| FaultError(text.trim().to_owned()))
    }
}

fn parsed(words: &[&str]) -> Option<Fault> {
    Some(match *words {
        ["adapter", "off"] => Fault::Power(false),
        ["adapter", "on"] => Fault::Power(true),
        ["adapter", "unplugged"] => Fault::Plug(false),
        ["adapter", "plugged"] => Fault::Plug(true),
        ["bluetoothd", "gone"] => Fault::Bluetoothd(false),
        ["bluetoothd", "back"] => Fault::Bluetoothd(true),
        ["bus", "killed"] => Fault::Bus(false),
        ["bus", "back"] => Fault::Bus(true),
        ["permission", "refused"] => Fault::Permission(false),
        ["permission", "granted"] => Fault::Permission(true),
        ["reset", who] => Fault::Reset(which(who)?),
        ["disconnect", who] => Fault::Disconnect(which(who)?),
        ["remove", who] => Fault::Remove(which(who)?),
        ["away", who] => Fault::Away(which(who)?),
        ["near", who] => Fault::Near(which(who)?),
        ["lose", who, n] => Fault::Lose(which(who)?, n.parse().ok()?),
        ["repeat", who, n] => Fault::Repeat(which(who)?, n.parse().ok()?),
        ["swap", who, n] => Fault::Swap(which(who)?, n.parse().ok()?),
        ["corrupt", who, n] => Fault::Corrupt(which(who)?, n.parse().ok()?),
        ["refuse", who, n] => Fault::Refuse(which(who)?, n.parse().ok()?),
        ["battery", who, percent] => Fault::Battery(which(who)?, percent.parse().ok()?),
        ["burst", who, s] => Fault::Burst(which(who)?, seconds(s)?),
        ["shake", who, s] => Fault::Shake(which(who)?, seconds(s)?),
        ["silence", who, s] => Fault::Silence(which(who)?, seconds(s)?),
        _ => return None,
    })
}

fn which(word: &str) -> Option<Which> {
    match word.strip_prefix("spare-") {
        Some(number) => number.parse().ok().map(Which::Spare),
        None if word == "all" => Some(Which::All),
        None => word.parse().ok().map(Which::Worn),
    }
}

fn seconds(word: &str) -> Option<f64> {
    word.parse().ok().filter(|seconds: &f64| seconds.is_finite() && *seconds >= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_says_what_befalls_whom() {
        let left = Which::Worn(SensorRole::LeftShank);
        assert_eq!("lose left-shank 3".parse(), Ok(Fault::Lose(left, 3)));
        assert_eq!(" silence  all 2.5 ".parse(), Ok(Fault::Silence(Which::All, 2.5)));
        assert_eq!("remove spare-2".parse(), Ok(Fault::Remove(Which::Spare(2))));
        assert_eq!("bus back".parse(), Ok(Fault::Bus(true)));
        assert_eq!("permission refused".parse(), Ok(Fault::Permission(false)));
    }

    #[test]
    fn what_says_no_fault_is_told_how_one_is_written() {
        for text in
            ["", "lose", "lose nowhere 3", "silence pelvis -1", "burst pelvis inf", "adapter"]
        {
            let error = text.parse::<Fault>().unwrap_err().to_string();
            assert!(error.contains("adapter off") && error.contains(text.trim()), "{error}");
        }
    }
}
