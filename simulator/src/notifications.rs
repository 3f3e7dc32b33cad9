//! What arrives over the radio: every sensor's frames, in order of arrival.

use std::collections::VecDeque;
use std::iter::Peekable;
use std::sync::Arc;

use endarc_protocol::frame::Outgoing;
use endarc_protocol::profile::{Profile, StreamLayout};
use endarc_protocol::sample::Values;
use uuid::Uuid;

use crate::clock::Moment;
use crate::link::{Arrivals, Losses};
use crate::readings::{Reading, Readings, per_frame};

/// One notification.
#[derive(Debug, Clone, PartialEq)]
pub struct Notification {
    /// When it arrives, s of visit time.
    pub arrival_s: f64,
    /// When it was sent, on the sensor's own clock, s since visit time zero.
    pub sent_s: f64,
    /// Which sensor sent it: its place in [`Session::sensors`](crate::Session::sensors).
    pub sensor: usize,
    /// The characteristic it comes from.
    pub characteristic: Uuid,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// The notifications of all sensors, merged in order of arrival, each made when it is asked for.
#[derive(Debug)]
pub struct Notifications {
    sensors: Vec<Peekable<SensorNotifications>>,
}

impl Notifications {
    pub(crate) fn new(sensors: impl Iterator<Item = SensorNotifications>) -> Self {
        Self { sensors: sensors.map(Iterator::peekable).collect() }
    }
}

impl Iterator for Notifications {
    type Item = Notification;

    fn next(&mut self) -> Option<Notification> {
        let next = self
            .sensors
            .iter_mut()
            .filter_map(|sensor| Some((sensor.peek()?.arrival_s, sensor)))
            .min_by(|(a, _), (b, _)| a.total_cmp(b));
        next.and_then(|(_, sensor)| sensor.next())
    }
}

/// One sensor's notifications.
#[derive(Debug)]
pub(crate) struct SensorNotifications {
    sensor: usize,
    readings: Readings,
    profile: Arc<Profile>,
    /// One for each of the profile's streams, in the same order.
    streams: Vec<Collecting>,
    arrivals: Arrivals,
    ready: VecDeque<Notification>,
}

/// A stream's frame that is being filled.
#[derive(Debug)]
struct Collecting {
    losses: Losses,
    first: Option<(u64, Moment)>,
    samples: Vec<Values>,
}

impl SensorNotifications {
    pub(crate) fn new(
        sensor: usize,
        readings: Readings,
        profile: Arc<Profile>,
        losses: impl Iterator<Item = Losses>,
        arrivals: Arrivals,
    ) -> Self {
        let streams =
            losses.map(|losses| Collecting { losses, first: None, samples: Vec::new() }).collect();
        Self { sensor, readings, profile, streams, arrivals, ready: VecDeque::new() }
    }

    /// Puts a reading into every stream's frame; full frames become ready unless they are lost.
    fn take(&mut self, reading: &Reading) {
        for (layout, stream) in self.profile.streams().iter().zip(&mut self.streams) {
            let Some(bytes) = stream.take(layout, reading) else {
                continue;
            };
            self.ready.push_back(Notification {
                arrival_s: self.arrivals.arrival_s(reading.moment.visit_s),
                sent_s: reading.moment.elapsed_s,
                sensor: self.sensor,
                characteristic: layout.characteristic(),
                bytes,
            });
        }
    }
}

impl Iterator for SensorNotifications {
    type Item = Notification;

    fn next(&mut self) -> Option<Notification> {
        while self.ready.is_empty() {
            let reading = self.readings.next()?;
            self.take(&reading);
        }
        self.ready.pop_front()
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
        let stamped = first;
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
