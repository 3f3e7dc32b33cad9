//! The simulated clinic: a scenario's sensors send, and its therapist marks.

use std::iter::Peekable;

use endarc_protocol::events_csv::Event;
use endarc_simulator::{Scenario, SensorInfo, Session};

use super::Source;
use super::event::{SourceEvent, SourceInfo, SourceSensor};
use crate::store::words::Source as SourceKind;
use crate::visit::{Marks, SpanMark};

/// A simulated visit as a source. Its notifications are made as they are asked for.
#[must_use]
pub fn sim(scenario: &Scenario) -> Source {
    let session = Session::new(scenario);
    let sensor = |sensor: &SensorInfo| SourceSensor {
        role: sensor.role,
        address: format!("sim:{}", sensor.address),
        name: Some(sensor.name.clone()),
        profile: Some(sensor.profile.clone()),
    };
    let info = SourceInfo {
        kind: SourceKind::Sim,
        person: Some(scenario.person().to_owned()),
        test: scenario.test(),
        sensors: session.sensors().iter().map(sensor).collect(),
        marks: Marks::Source,
        start_s: 0.0,
    };
    let events = InOrder {
        first: marks(session.events()).into_iter().peekable(),
        second: notifications(&session).peekable(),
    };
    Source::known(info, events, session.duration_s())
}

fn notifications(session: &Session) -> impl Iterator<Item = SourceEvent> + Send + use<> {
    let roles: Vec<_> = session.sensors().iter().map(|sensor| sensor.role).collect();
    session.notifications().filter_map(move |notification| {
        Some(SourceEvent::Notification {
            arrival_s: notification.arrival_s,
            role: *roles.get(notification.sensor)?,
            characteristic: notification.characteristic,
            bytes: notification.bytes,
        })
    })
}

/// Beginnings and ends of the spans, in order of time; where one span follows on another, the end
/// comes first.
pub(super) fn marks(events: &[Event]) -> Vec<SourceEvent> {
    let mark =
        |event: &Event, time_s| SpanMark { trial_type: event.trial_type, side: event.side, time_s };
    let ends = events.iter().map(|event| SourceEvent::SpanEnded(mark(event, event.end_s())));
    let beginnings = events.iter().map(|event| SourceEvent::SpanBegan(mark(event, event.onset_s)));
    let mut marks: Vec<SourceEvent> = ends.chain(beginnings).collect();
    marks.sort_by(|a, b| a.time_s().total_cmp(&b.time_s()));
    marks
}

/// Two streams, each in order of time, as one; of the same moment the first one's comes first.
struct InOrder<A: Iterator, B: Iterator> {
    first: Peekable<A>,
    second: Peekable<B>,
}

impl<A, B> Iterator for InOrder<A, B>
where
    A: Iterator<Item = SourceEvent>,
    B: Iterator<Item = SourceEvent>,
{
    type Item = SourceEvent;

    fn next(&mut self) -> Option<SourceEvent> {
        match (self.first.peek(), self.second.peek()) {
            (Some(first), Some(second)) if second.time_s() < first.time_s() => self.second.next(),
            (Some(_), _) => self.first.next(),
            (None, _) => self.second.next(),
        }
    }
}
