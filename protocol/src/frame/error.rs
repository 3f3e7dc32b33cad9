//! Why a notification was refused.

use uuid::Uuid;

/// A notification that does not agree with the profile. Nothing of it is used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DecodeError {
    /// The profile has no such stream.
    #[error("the profile describes no stream of the characteristic {0}")]
    UnknownCharacteristic(Uuid),
    /// The link cut the frame: an unextended link packet carries 20 bytes of a notification
    /// (Bluetooth Core, volume 3, part G: ATT_MTU of 23, less 3).
    #[error(
        "link packet size too small: {got} bytes arrived of a frame of {expected}; the link must \
         agree on larger packets"
    )]
    PacketSizeTooSmall {
        /// Bytes that arrived.
        got: usize,
        /// Bytes of the whole frame.
        expected: usize,
    },
    /// The length does not go with the number of samples.
    #[error("{got} bytes where the frame has {expected}")]
    Length {
        /// Bytes that arrived.
        got: usize,
        /// Bytes of the whole frame; the shortest possible one where the number is not known.
        expected: usize,
    },
    /// The length leaves a part of a sample over.
    #[error("{got} bytes do not hold whole samples: {left_over} are left over")]
    PartOfSample {
        /// Bytes that arrived.
        got: usize,
        /// Bytes left over.
        left_over: usize,
    },
    /// The bytes that every frame begins with are not there.
    #[error("byte {at} does not match the header that the profile gives")]
    Header {
        /// Offset of the header part that differs.
        at: usize,
    },
    /// No samples, or more than a frame holds.
    #[error("the frame says it holds {got} samples: 1 to {at_most} are possible")]
    SampleCount {
        /// What it says.
        got: usize,
        /// The most there may be.
        at_most: usize,
    },
    /// Bytes were changed on the way.
    #[error("checksum {expected:#06x} computed, {got:#06x} received")]
    Checksum {
        /// Computed over the bytes.
        expected: u16,
        /// What the frame says.
        got: u16,
    },
}

/// A kind of [`DecodeError`], for counting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// No such stream.
    UnknownCharacteristic,
    /// Cut by the link.
    PacketSize,
    /// Wrong length.
    Length,
    /// Wrong header.
    Header,
    /// Impossible number of samples.
    SampleCount,
    /// Wrong checksum.
    Checksum,
}

impl Reason {
    /// Every reason, in the order in which they are counted.
    pub const ALL: [Self; 6] = [
        Self::UnknownCharacteristic,
        Self::PacketSize,
        Self::Length,
        Self::Header,
        Self::SampleCount,
        Self::Checksum,
    ];

    /// A short name, for reports.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::UnknownCharacteristic => "unknown-characteristic",
            Self::PacketSize => "packet-size",
            Self::Length => "length",
            Self::Header => "header",
            Self::SampleCount => "sample-count",
            Self::Checksum => "checksum",
        }
    }
}

impl DecodeError {
    /// The kind of error.
    #[must_use]
    pub const fn reason(&self) -> Reason {
        match self {
            Self::UnknownCharacteristic(_) => Reason::UnknownCharacteristic,
            Self::PacketSizeTooSmall { .. } => Reason::PacketSize,
            Self::Length { .. } | Self::PartOfSample { .. } => Reason::Length,
            Self::Header { .. } => Reason::Header,
            Self::SampleCount { .. } => Reason::SampleCount,
            Self::Checksum { .. } => Reason::Checksum,
        }
    }
}
