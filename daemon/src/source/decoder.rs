//! From a source's events to samples, where nothing is to be stored.

use endarc_protocol::sample::Sample;
use endarc_protocol::stream::{Output, SensorStream};
use endarc_protocol::words::SensorRole;

use super::ble::News;
use super::{LinkNews, SourceEvent, SourceSensor};

/// The sensors' streams, without what a visit needs of them beside the samples.
#[derive(Debug)]
pub struct Decoder {
    streams: Vec<(SensorRole, SensorStream)>,
    /// Kept between notifications, so that none of them allocates.
    outputs: Vec<Output>,
}

impl Decoder {
    /// For the sensors of a source.
    #[must_use]
    pub fn new(sensors: &[SourceSensor]) -> Self {
        let stream = |sensor: &SourceSensor| {
            Some((sensor.role, SensorStream::new(sensor.profile.as_deref()?)))
        };
        Self { streams: sensors.iter().filter_map(stream).collect(), outputs: Vec::new() }
    }

    /// Hands on the samples that an event brings, by time within each sensor.
    pub fn take(&mut self, event: &SourceEvent, mut give: impl FnMut(SensorRole, Sample)) {
        match event {
            SourceEvent::Sample { role, sample } => give(*role, *sample),
            SourceEvent::Notification { arrival_s, role, characteristic, bytes } => {
                let stream = self.streams.iter_mut().find(|(own, _)| own == role);
                if let Some((_, stream)) = stream {
                    stream.push(*arrival_s, *characteristic, bytes, &mut self.outputs);
                }
                for output in self.outputs.drain(..) {
                    if let Output::Reading(reading) = output {
                        give(*role, reading.sample);
                    }
                }
            }
            SourceEvent::Link { time_s, role, news: LinkNews::State(News::Up) } => {
                if let Some((_, stream)) = self.streams.iter_mut().find(|(own, _)| own == role) {
                    stream.restart(*time_s);
                }
            }
            SourceEvent::Link { .. }
            | SourceEvent::Radio { .. }
            | SourceEvent::SpanBegan(_)
            | SourceEvent::SpanEnded(_)
            | SourceEvent::Ended { .. } => {}
        }
    }
}
