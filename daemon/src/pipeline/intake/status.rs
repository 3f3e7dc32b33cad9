//! What became of all that a sensor sent.

use endarc_protocol::stream::{Counters, SensorStream};

use super::Intake;
use crate::meters::SensorStatus;

impl Intake {
    /// How the sensor is doing, as far as its samples show: its link and battery are the visit's.
    pub(in crate::pipeline) fn status(&self) -> SensorStatus {
        let stream = self.stream.as_ref();
        let (placed, rejected) = self.placed;
        let without_stream =
            || Counters { received: placed, no_data: rejected, ..Counters::default() };
        let counters = stream.map_or_else(without_stream, SensorStream::counters);
        SensorStatus {
            role: self.role,
            link: None,
            battery_percent: None,
            battery_low: false,
            signal_dbm: self.signal_dbm,
            data_age_s: None,
            nominal_hz: self.nominal_hz,
            rate_hz: stream.and_then(SensorStream::rate_hz),
            skew_ppm: stream.and_then(SensorStream::skew_ppm),
            clock_fit_rejected: stream.is_some_and(SensorStream::is_clock_fit_rejected),
            epochs: stream.map_or(0, SensorStream::epochs),
            received: counters.received,
            lost: counters.lost,
            duplicate: counters.duplicate,
            reordered: counters.reordered,
            late: counters.late,
            malformed: counters.malformed,
            saturated: counters.saturated,
            no_data: counters.no_data,
        }
    }
}
