//! One sensor's way in: its notifications (or samples) to samples in visit time, raw chunks, and
//! what is missing.

mod raw;
mod status;

use endarc_protocol::frame::DecodeError;
use endarc_protocol::profile::{Profile, StreamLayout};
use endarc_protocol::sample::Sample;
use endarc_protocol::stream::{Counters, Gap, GapCause, Output, SensorStream};
use endarc_protocol::words::SensorRole;
use uuid::Uuid;

use crate::source::{Cause, LinkNews, News, SourceSensor};
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
    /// Whether what the sensor sends shows that something is missing.
    counts_losses: bool,
    raw: Raw,
    last_s: Option<f64>,
    /// What happened to the link or to notifications lately: the next gap there has this cause.
    suspect: Option<Suspect>,
    /// The rate that the profile states, samples a second.
    nominal_hz: Option<f64>,
    /// Samples that came placed in time already, and those among them that were not finite.
    placed: (u64, u64),
    /// Signal strength when it was last looked for, dBm.
    signal_dbm: Option<i16>,
    /// Kept between notifications, so that none of them allocates.
    outputs: Vec<Output>,
}

impl Intake {
    pub(super) fn new(visit: VisitId, sensor: &SourceSensor) -> Self {
        let profile = sensor.profile.as_deref();
        Self {
            role: sensor.role,
            stream: profile.map(SensorStream::new),
            counts_losses: profile.is_some_and(counts_losses),
            raw: Raw::new(visit, sensor.role, profile.and_then(scale)),
            last_s: None,
            suspect: None,
            nominal_hz: profile.map(Profile::rate_hz),
            placed: (0, 0),
            signal_dbm: None,
            outputs: Vec::new(),
        }
    }

    pub(super) const fn role(&self) -> SensorRole {
        self.role
    }

    /// What became of everything that was sent so far; nothing where samples come placed in time.
    pub(super) fn counters(&self) -> Counters {
        self.stream.as_ref().map(SensorStream::counters).unwrap_or_default()
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

    /// Takes news of the link.
    pub(super) fn link(&mut self, time_s: f64, news: &LinkNews) -> Taken {
        let mut taken = Taken::default();
        match news {
            LinkNews::State(News::Up) => {
                if let Some(stream) = &mut self.stream {
                    stream.restart(time_s);
                }
            }
            LinkNews::State(News::Silent) => self.suspect(LossCause::Silent, time_s),
            LinkNews::State(News::Lost(cause)) => self.suspect(lost(*cause), time_s),
            LinkNews::Overflow { from_s, notifications } => {
                tracing::warn!(role = %self.role, notifications, "the pipeline was too slow");
                if self.counts_losses {
                    // The sensor's own counter will tell how many samples that were.
                    self.suspect(LossCause::Overrun, *from_s);
                } else {
                    let cause = LossCause::Overrun;
                    let loss =
                        Loss { role: self.role, from_s: *from_s, to_s: time_s, lost: 0, cause };
                    taken.losses.push(loss);
                }
            }
            LinkNews::Signal(dbm) => self.signal_dbm = Some(*dbm),
            LinkNews::State(_) | LinkNews::Identity(_) | LinkNews::Battery(_) => {}
        }
        taken
    }

    /// Takes a sample that is placed in time already. One that is not finite is kept raw and
    /// counted, but not fed on.
    pub(super) fn sample(&mut self, sample: Sample) -> Taken {
        let mut taken = Taken::default();
        taken.chunks.extend(self.raw.sample(sample));
        let to_s = sample.time_s;
        let from_s = self.last_s.replace(to_s).unwrap_or(to_s);
        self.placed.0 += 1;
        if !sample.is_finite() {
            self.placed.1 += 1;
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

    /// Something happened that explains what will be missing around this moment. A silence that
    /// turns out to be a lost link, or a sleep, is that.
    fn suspect(&mut self, cause: LossCause, at_s: f64) {
        self.suspect = Some(Suspect { cause, at_s });
    }

    /// Why a gap is there.
    fn cause(&mut self, gap: &Gap) -> LossCause {
        let near =
            |suspect: &Suspect| (gap.from_s - NEAR_S..=gap.to_s + NEAR_S).contains(&suspect.at_s);
        match self.suspect.take_if(|suspect| near(suspect)) {
            Some(suspect) => suspect.cause,
            None => cause(gap.cause),
        }
    }

    fn take_outputs(&mut self) -> Taken {
        let mut taken = Taken::default();
        let mut outputs = std::mem::take(&mut self.outputs);
        for output in outputs.drain(..) {
            match output {
                Output::Reading(reading) => {
                    taken.chunks.extend(self.raw.reading(&reading));
                    taken.samples.push(reading.sample);
                }
                Output::Gap(gap) => {
                    if matches!(gap.cause, GapCause::Restart | GapCause::Silence) {
                        taken.chunks.extend(self.raw.new_epoch());
                    }
                    let cause = self.cause(&gap);
                    let Gap { from_s, to_s, lost, .. } = gap;
                    taken.losses.push(Loss { role: self.role, from_s, to_s, lost, cause });
                }
                Output::Malformed { arrival_s, error } => {
                    malformed(self.role, arrival_s, &error);
                    self.suspect(LossCause::Malformed, arrival_s);
                }
            }
        }
        // Kept for its capacity.
        self.outputs = outputs;
        taken
    }
}

/// How far from a gap its cause may lie, s: a sample waits for 0.1 s for those before it, and a
/// notification may hold as much again.
const NEAR_S: f64 = 0.25;

/// Something that explains what is missing.
#[derive(Debug, Clone, Copy)]
struct Suspect {
    cause: LossCause,
    at_s: f64,
}

const fn lost(cause: Cause) -> LossCause {
    match cause {
        Cause::LinkLost => LossCause::LinkLost,
        Cause::Silent => LossCause::Silent,
        Cause::HostAsleep => LossCause::HostAsleep,
    }
}

fn counts_losses(profile: &Profile) -> bool {
    profile.streams().iter().any(StreamLayout::counts_losses)
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
