//! One sensor's way in: its notifications (or samples) to samples in visit time, raw chunks, and
//! what is missing.

mod raw;

use endarc_protocol::frame::DecodeError;
use endarc_protocol::sample::Sample;
use endarc_protocol::stream::{GapCause, Output, SensorStream};
use endarc_protocol::words::SensorRole;
use uuid::Uuid;

use crate::source::SourceSensor;
use crate::store::VisitId;
use crate::store::rows::RawChunk;
use crate::visit::{Loss, LossCause};
use raw::Raw;
pub(super) use raw::scale;

/// A hole between samples that come placed in time is told from this length on, s: five periods of
/// the slowest sensor in use (20 Hz).
const HOLE_S: f64 = 0.25;

/// What came of a notification or sample.
#[derive(Debug, Default)]
pub(super) struct Taken {
    /// Samples to be fed on, by time.
    pub(super) samples: Vec<Sample>,
    /// Raw chunks that are full.
    pub(super) chunks: Vec<RawChunk>,
    /// What is missing.
    pub(super) losses: Vec<Loss>,
}

/// One sensor.
#[derive(Debug)]
pub(super) struct Intake {
    role: SensorRole,
    /// `None` for samples that come placed in time already.
    stream: Option<SensorStream>,
    raw: Raw,
    last_s: Option<f64>,
    /// Kept between notifications, so that none of them allocates.
    outputs: Vec<Output>,
}

impl Intake {
    pub(super) fn new(visit: VisitId, sensor: &SourceSensor) -> Self {
        let profile = sensor.profile.as_deref();
        Self {
            role: sensor.role,
            stream: profile.map(SensorStream::new),
            raw: Raw::new(visit, sensor.role, profile.and_then(scale)),
            last_s: None,
            outputs: Vec::new(),
        }
    }

    pub(super) const fn role(&self) -> SensorRole {
        self.role
    }

    /// Takes a notification; one of a sensor without a profile says nothing.
    pub(super) fn notification(
        &mut self,
        arrival_s: f64,
        characteristic: Uuid,
        bytes: &[u8],
    ) -> Taken {
        if let Some(stream) = &mut self.stream {
            stream.push(arrival_s, characteristic, bytes, &mut self.outputs);
        }
        self.take_outputs()
    }

    /// Takes a sample that is placed in time already. One that is not finite is kept raw and
    /// counted, but not fed on.
    pub(super) fn sample(&mut self, sample: Sample) -> Taken {
        let mut taken = Taken::default();
        taken.chunks.extend(self.raw.sample(sample));
        let to_s = sample.time_s;
        let from_s = self.last_s.replace(to_s).unwrap_or(to_s);
        if !sample.is_finite() {
            let cause = LossCause::SamplesRejected;
            taken.losses.push(Loss { role: self.role, from_s, to_s, lost: 1, cause });
            return taken;
        }
        if to_s - from_s > HOLE_S {
            let cause = LossCause::LinkLost;
            taken.losses.push(Loss { role: self.role, from_s, to_s, lost: 0, cause });
        }
        taken.samples.push(sample);
        taken
    }

    /// Nothing comes any more: what was held back behind a hole, and the chunk being filled.
    pub(super) fn finish(&mut self) -> Taken {
        if let Some(stream) = &mut self.stream {
            stream.flush(&mut self.outputs);
            let counters = stream.counters();
            tracing::info!(role = %self.role, ?counters, rate_hz = stream.rate_hz(), "sensor");
        }
        let mut taken = self.take_outputs();
        taken.chunks.extend(self.raw.flush());
        taken
    }

    /// It is worn in this role from the next sample on, and was from the first: the store puts that
    /// right. What is being filled was cut before.
    pub(super) const fn wear(&mut self, role: SensorRole) {
        self.role = role;
        self.raw.wear(role);
    }

    /// Cuts the chunk that is being filled.
    pub(super) fn flush(&mut self) -> Option<RawChunk> {
        self.raw.flush()
    }

    fn take_outputs(&mut self) -> Taken {
        let mut taken = Taken::default();
        for output in self.outputs.drain(..) {
            match output {
                Output::Reading(reading) => {
                    taken.chunks.extend(self.raw.reading(&reading));
                    taken.samples.push(reading.sample);
                }
                Output::Gap(gap) => {
                    if matches!(gap.cause, GapCause::Restart | GapCause::Silence) {
                        taken.chunks.extend(self.raw.new_epoch());
                    }
                    taken.losses.push(Loss {
                        role: self.role,
                        from_s: gap.from_s,
                        to_s: gap.to_s,
                        lost: gap.lost,
                        cause: cause(gap.cause),
                    });
                }
                Output::Malformed { arrival_s, error } => malformed(self.role, arrival_s, &error),
            }
        }
        taken
    }
}

const fn cause(cause: GapCause) -> LossCause {
    match cause {
        GapCause::Lost => LossCause::SamplesMissing,
        GapCause::NoData => LossCause::SamplesRejected,
        GapCause::Restart => LossCause::SensorRestarted,
        GapCause::Silence | GapCause::Pause => LossCause::LinkLost,
    }
}

fn malformed(role: SensorRole, arrival_s: f64, error: &DecodeError) {
    tracing::warn!(%role, arrival_s, %error, "a notification was refused");
}
