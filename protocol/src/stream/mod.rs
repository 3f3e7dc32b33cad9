//! The whole way of one sensor's notifications: decode, order, count, place in time.
//!
//! Samples leave in order, once each, with strictly increasing times. While nothing is missing they
//! leave in the call that brought them; behind a hole they wait for about 100 ms, in case what is
//! missing only comes late. Whatever does not leave is counted, and a hole between two samples is
//! said as a [`Gap`].
//!
//! ```
//! use endarc_protocol::frame::Outgoing;
//! use endarc_protocol::profile::Profile;
//! use endarc_protocol::sample::Values;
//! use endarc_protocol::stream::{Output, SensorStream};
//!
//! let profile = Profile::reference();
//! let layout = &profile.streams()[0];
//!
//! // What a sensor sends: one sample, counter 7, clock 70 ms, x axis up.
//! let still = Values { accel_m_s2: [9.81, 0.0, 0.0], ..Values::default() };
//! let mut bytes = Vec::new();
//! layout.encode(&Outgoing { counter: 7, ticks: 70_000, samples: &[still] }, &mut bytes)?;
//!
//! let mut stream = SensorStream::new(&profile);
//! let mut out = Vec::new();
//! stream.push(12.5, layout.characteristic(), &bytes, &mut out);
//! let [Output::Reading(reading)] = &out[..] else { panic!("one reading") };
//! assert_eq!(reading.sample.time_s, 12.5);
//! assert!((reading.sample.accel_m_s2[0] - 9.81).abs() < 0.001);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod epoch;
mod numbering;
mod output;
mod reorder;
mod sink;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use uuid::Uuid;

use crate::frame::{DecodeError, Reason};
use crate::profile::Profile;
use epoch::Epoch;
use numbering::Heard;
use sink::Sink;

pub use output::{Counters, Gap, GapCause, Output, Reading};

/// Bytes of one sensor in, readings out.
#[derive(Debug, Clone)]
pub struct SensorStream {
    profile: Arc<Profile>,
    epoch: Option<Epoch>,
    /// Since when the link is up again: what comes next belongs to a new epoch.
    restarted_s: Option<f64>,
    epochs: u32,
    sink: Sink,
    /// The measured slope of a clock without timestamps, kept from epoch to epoch.
    known_slope: Option<f64>,
    malformed_by: [u64; Reason::ALL.len()],
}

/// Notifications from before a link was lost come at most this long after it is up again, s.
const LEFTOVER_UNTIL_S: f64 = 2.0;

impl SensorStream {
    /// A stream that has heard nothing yet.
    #[must_use]
    pub fn new(profile: &Profile) -> Self {
        Self {
            profile: Arc::new(profile.clone()),
            epoch: None,
            restarted_s: None,
            epochs: 0,
            sink: Sink::default(),
            known_slope: None,
            malformed_by: [0; Reason::ALL.len()],
        }
    }

    /// Takes one notification. `arrival_s` is the host's time at its arrival, s, of a clock that
    /// never goes back; `out` is added to.
    pub fn push(
        &mut self,
        arrival_s: f64,
        characteristic: Uuid,
        bytes: &[u8],
        out: &mut Vec<Output>,
    ) {
        let profile = Arc::clone(&self.profile);
        match hear(&profile, arrival_s, characteristic, bytes) {
            Ok(heard) => self.take(&heard, out),
            Err(error) => {
                self.sink.counters_mut().malformed += 1;
                let reason = error.reason();
                for (count, counted) in self.malformed_by.iter_mut().zip(Reason::ALL) {
                    *count += u64::from(counted == reason);
                }
                out.push(Output::Malformed { arrival_s, error });
            }
        }
    }

    /// Says that the link was taken up again: the next notification begins a new epoch, unless it
    /// was left over from before.
    pub const fn restart(&mut self, arrival_s: f64) {
        self.restarted_s = Some(arrival_s);
    }

    /// Hands out what is waiting behind a hole, and counts the hole as lost: at the end, or when
    /// nothing has come for a while.
    pub fn flush(&mut self, out: &mut Vec<Output>) {
        if let Some(epoch) = &mut self.epoch {
            epoch.finish(&mut self.sink, out);
        }
    }

    /// What became of everything that was pushed so far.
    #[must_use]
    pub const fn counters(&self) -> Counters {
        self.sink.counters()
    }

    /// How many notifications were refused, by reason.
    pub fn malformed_by_reason(&self) -> impl Iterator<Item = (Reason, u64)> + '_ {
        Reason::ALL.into_iter().zip(self.malformed_by)
    }

    /// How many epochs have begun.
    #[must_use]
    pub const fn epochs(&self) -> u32 {
        self.epochs
    }

    /// The measured rate, samples per host second; `None` before it can be told.
    #[must_use]
    pub fn rate_hz(&self) -> Option<f64> {
        let epoch = self.epoch.as_ref()?;
        let time = epoch.numbering().time();
        let envelope = epoch.clock().envelope();
        let known = if epoch.numbering().has_timestamps() {
            time.is_measured()
        } else {
            envelope.is_measured() || self.known_slope.is_some()
        };
        known.then(|| 1.0 / (time.period_s() * envelope.slope()))
    }

    /// How much the sensor's own clock is slow (positive) or fast (negative) against the host's,
    /// parts per million; `None` before it can be told, and for a sensor that sends no time.
    #[must_use]
    pub fn skew_ppm(&self) -> Option<f64> {
        let epoch = self.epoch.as_ref()?;
        let envelope = epoch.clock().envelope();
        let known = epoch.numbering().has_timestamps() && envelope.is_measured();
        known.then(|| (envelope.slope() - 1.0) * 1e6)
    }

    /// Whether the latest fit of the sensor's clock is beyond what the profile allows, and is not
    /// applied.
    #[must_use]
    pub fn is_clock_fit_rejected(&self) -> bool {
        self.epoch.as_ref().is_some_and(|epoch| epoch.clock().envelope().is_rejected())
    }

    fn take(&mut self, heard: &Heard<'_>, out: &mut Vec<Output>) {
        if let (Some(restarted_s), Some(epoch)) = (self.restarted_s, &mut self.epoch) {
            let soon = heard.arrival_s - restarted_s <= LEFTOVER_UNTIL_S;
            if soon && epoch.is_leftover(heard) {
                self.sink.counters_mut().late += heard.frame.number() as u64;
                return;
            }
            self.end_epoch(GapCause::Restart, out);
        }
        self.restarted_s = None;
        if let Some(epoch) = &mut self.epoch {
            match epoch.push(heard, &mut self.sink, out) {
                None => return,
                Some(cause) => self.end_epoch(cause, out),
            }
        }
        self.epochs += 1;
        let mut epoch = Epoch::start(&self.profile, heard, self.known_slope, self.sink.last_s());
        // Its own first notification always belongs to an epoch.
        epoch.push(heard, &mut self.sink, out);
        self.epoch = Some(epoch);
    }

    fn end_epoch(&mut self, cause: GapCause, out: &mut Vec<Output>) {
        let Some(mut epoch) = self.epoch.take() else { return };
        epoch.finish(&mut self.sink, out);
        let envelope = epoch.clock().envelope();
        if !epoch.numbering().has_timestamps() && envelope.is_measured() {
            self.known_slope = Some(envelope.slope());
        }
        self.sink.new_epoch(cause);
    }
}

fn hear<'a>(
    profile: &'a Profile,
    arrival_s: f64,
    characteristic: Uuid,
    bytes: &'a [u8],
) -> Result<Heard<'a>, DecodeError> {
    let (stream, layout) = profile
        .streams()
        .iter()
        .enumerate()
        .find(|(_, layout)| layout.characteristic == characteristic)
        .ok_or(DecodeError::UnknownCharacteristic(characteristic))?;
    Ok(Heard { stream, layout, frame: layout.decode(bytes)?, arrival_s })
}
