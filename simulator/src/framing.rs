//! Readings collected into frames, as a sensor's firmware does.

use std::sync::Arc;

use endarc_protocol::frame::Outgoing;
use endarc_protocol::profile::{Profile, StreamLayout};
use endarc_protocol::sample::Values;
use uuid::Uuid;

use crate::clock::Moment;
use crate::link::Losses;
use crate::readings::{Reading, per_frame};

/// The frames of all streams of one sensor, being filled.
#[derive(Debug)]
pub(crate) struct Framing {
    profile: Arc<Profile>,
    /// One for each of the profile's streams, in the same order.
    streams: Vec<Collecting>,
}

/// A frame that is full and will arrive.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Frame {
    pub(crate) characteristic: Uuid,
    pub(crate) bytes: Vec<u8>,
}

/// A stream's frame that is being filled.
#[derive(Debug)]
struct Collecting {
    losses: Losses,
    first: Option<(u64, Moment)>,
    samples: Vec<Values>,
}

impl Framing {
    /// Empty frames; `losses` are those of the profile's streams, in order.
    pub(crate) fn new(profile: Arc<Profile>, losses: impl Iterator<Item = Losses>) -> Self {
        let streams =
            losses.map(|losses| Collecting { losses, first: None, samples: Vec::new() }).collect();
        Self { profile, streams }
    }

    /// Puts a reading into every stream's frame, and gives the frames that it has filled, but for
    /// those that are lost on the way.
    pub(crate) fn take(&mut self, reading: &Reading) -> impl Iterator<Item = Frame> {
        let streams = self.profile.streams().iter().zip(&mut self.streams);
        streams.filter_map(|(layout, stream)| {
            let bytes = stream.take(layout, reading)?;
            Some(Frame { characteristic: layout.characteristic(), bytes })
        })
    }
}

impl Collecting {
    /// The frame's bytes when this reading has filled it and it is not lost on the way.
    fn take(&mut self, layout: &StreamLayout, reading: &Reading) -> Option<Vec<u8>> {
        let (counter, first) = *self.first.get_or_insert((reading.number, reading.moment));
        self.samples.push(reading.values);
        if (self.samples.len() as u64) < per_frame(layout) {
            return None;
        }
        self.first = None;
        let stamped = if layout.stamps_last() { reading.moment } else { first };
        let frame = Outgoing {
            counter,
            ticks: ticks(stamped.reading_s, layout.tick_s()),
            samples: &self.samples,
        };
        let mut bytes = Vec::new();
        let encoded = layout.encode(&frame, &mut bytes);
        debug_assert_eq!(encoded, Ok(()), "readings are finite and as many as a frame holds");
        self.samples.clear();
        let lost = self.losses.next_is_lost();
        (encoded.is_ok() && !lost).then_some(bytes)
    }
}

/// A clock's reading in ticks; 0 where frames carry no time.
fn ticks(reading_s: f64, tick_s: Option<f64>) -> u64 {
    // Readings are never negative, and a visit's microseconds are far below 2^53.
    tick_s.map_or(0, |tick_s| libm::round(reading_s / tick_s) as u64)
}
