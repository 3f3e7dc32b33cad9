//! What arrives over the radio: every sensor's frames, in order of arrival.

use std::collections::VecDeque;
use std::iter::Peekable;
use std::sync::Arc;

use endarc_protocol::profile::Profile;
use uuid::Uuid;

use crate::framing::Framing;
use crate::link::{Arrivals, Losses};
use crate::readings::Readings;

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
    framing: Framing,
    arrivals: Arrivals,
    ready: VecDeque<Notification>,
}

impl SensorNotifications {
    pub(crate) fn new(
        sensor: usize,
        readings: Readings,
        profile: Arc<Profile>,
        losses: impl Iterator<Item = Losses>,
        arrivals: Arrivals,
    ) -> Self {
        let framing = Framing::new(profile, losses);
        Self { sensor, readings, framing, arrivals, ready: VecDeque::new() }
    }
}

impl Iterator for SensorNotifications {
    type Item = Notification;

    fn next(&mut self) -> Option<Notification> {
        while self.ready.is_empty() {
            let reading = self.readings.next()?;
            for frame in self.framing.take(&reading) {
                self.ready.push_back(Notification {
                    arrival_s: self.arrivals.arrival_s(reading.moment.visit_s),
                    sent_s: reading.moment.elapsed_s,
                    sensor: self.sensor,
                    characteristic: frame.characteristic,
                    bytes: frame.bytes,
                });
            }
        }
        self.ready.pop_front()
    }
}
