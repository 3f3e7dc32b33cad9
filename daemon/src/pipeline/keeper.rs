//! Carries what the pipeline wants stored to the store, in order, and its answers back.
//!
//! The store gives keys; what came before a key was known is held until it is.

use std::collections::HashMap;

use endarc_analysis::orientation::BiasState;
use endarc_protocol::words::{EndCriterion, SensorRole, Side, TrialType};
use tokio::sync::mpsc;

use super::rows;
use crate::calibrating::Found;
use crate::clock;
use crate::meters::{Meters, Way};
use crate::sensor_calibration::SensorCalibration;
use crate::source::Identity;
use crate::store::rows::{NewRepetition, NewSpan, RawChunk};
use crate::store::{
    Code, NewAnswer, NewCalibration, NewTableLevel, RepetitionId, SpanId, TableRecord, VisitId,
    Write, WriteError, WriterHandle,
};
use crate::visit::{self, Record, RepetitionKey, SpanMark, Step, VisitEvent};

/// Something on its way to the store.
#[derive(Debug)]
pub(super) struct Keep {
    pub(super) what: What,
    /// When the notification came that it goes back to, s on the daemon's clock.
    pub(super) since_s: f64,
}

/// What is to be stored.
#[derive(Debug)]
pub(super) enum What {
    /// A record of the visit.
    Record(Record),
    /// Raw samples.
    Chunk(RawChunk),
    /// What was found of a sensor or table.
    Found(Found),
    /// What is known of a gyroscope's bias at a time, s of visit time.
    Bias(SensorRole, f64, BiasState),
    /// Which table the visit is measured on.
    UseTable(Option<String>),
    /// The sensors of the two shanks have changed places.
    Exchanged,
    /// What a sensor says of itself.
    Identity {
        /// Its address.
        address: String,
        /// What it says.
        identity: Box<Identity>,
    },
}

/// What the store has to say.
#[derive(Debug)]
pub(super) enum Answer {
    /// To the visit.
    Visit(VisitEvent),
    /// What was found is on disk.
    Known(Known),
    /// What was found is not kept, and why.
    NotKnown(String),
}

/// What is known from now on.
#[derive(Debug)]
pub(super) enum Known {
    /// Of the sensor worn here.
    Sensor(SensorRole, Box<SensorCalibration>),
    /// Of a table.
    Table(TableRecord),
}

/// What tells a sensor apart, and what it calls itself.
#[derive(Debug, Clone)]
pub(super) struct Device {
    pub(super) role: SensorRole,
    pub(super) address: String,
    pub(super) name: Option<String>,
}

/// Whether a chunk's way to the disk is awaited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Chunks {
    /// Each is synced before the next is sent, so that its latency is known: real time.
    Awaited,
    /// They are handed on and synced in batches: the virtual clock.
    Batched,
}

/// The keeper's state.
#[derive(Debug)]
pub(super) struct Keeper {
    visit: VisitId,
    writer: WriterHandle,
    devices: Vec<Device>,
    answers: mpsc::Sender<Answer>,
    chunks: Chunks,
    meters: Meters,
    spans: Vec<(TrialType, Option<Side>, SpanId)>,
    repetitions: HashMap<RepetitionKey, RepetitionId>,
    rater: Option<Code>,
    end_criterion: Option<EndCriterion>,
}

impl Keeper {
    pub(super) fn new(
        visit: VisitId,
        devices: Vec<Device>,
        writer: WriterHandle,
        answers: mpsc::Sender<Answer>,
        chunks: Chunks,
        meters: Meters,
    ) -> Self {
        Self {
            visit,
            devices,
            writer,
            answers,
            chunks,
            meters,
            spans: Vec::new(),
            repetitions: HashMap::new(),
            rater: None,
            end_criterion: None,
        }
    }

    /// Stores what comes until nothing comes any more.
    ///
    /// # Errors
    /// [`WriteError::Closed`] when the store has ended. A single refused row is told and passed
    /// over.
    pub(super) async fn run(mut self, mut queue: mpsc::Receiver<Keep>) -> Result<(), WriteError> {
        while let Some(Keep { what, since_s }) = queue.recv().await {
            match what {
                What::Chunk(chunk) => self.chunk(chunk, since_s).await?,
                What::Found(found) => {
                    let answer = match self.found(found).await {
                        Ok(known) => Answer::Known(known),
                        Err(WriteError::Refused(reason)) => Answer::NotKnown(reason),
                        Err(error) => return Err(error),
                    };
                    self.answer(answer).await;
                }
                What::Bias(role, at_s, state) => {
                    let row = rows::gyro_bias(self.visit, role, at_s, state);
                    self.writer.send(Write::GyroBias(row)).await?;
                }
                What::UseTable(table) => {
                    self.writer.send(Write::UseTable { visit: self.visit, table }).await?;
                }
                What::Exchanged => {
                    self.writer.send(Write::ExchangeShanks { visit: self.visit }).await?;
                }
                What::Identity { address, identity } => {
                    let row = rows::identity(address, *identity);
                    self.writer.send(Write::Identity(row)).await?;
                }
                What::Record(record) => match self.record(record, since_s).await {
                    Err(WriteError::Refused(reason)) => {
                        tracing::error!(%reason, "a record was not stored");
                    }
                    other => other?,
                },
            }
        }
        Ok(())
    }

    async fn chunk(&mut self, chunk: RawChunk, since_s: f64) -> Result<(), WriteError> {
        let write = Write::Chunk(chunk);
        if self.chunks == Chunks::Batched {
            return self.writer.send(write).await;
        }
        match self.writer.save(write).await {
            Ok(_key) => self.meters.reached(Way::Stored, since_s),
            // The writer has logged it.
            Err(WriteError::Refused(_)) => {}
            Err(error) => return Err(error),
        }
        Ok(())
    }

    async fn record(&mut self, record: Record, since_s: f64) -> Result<(), WriteError> {
        match record {
            Record::SpanBegan(mark) => self.begin_span(mark).await,
            Record::SpanEnded(mark) => self.end_span(mark).await,
            Record::Alignment { side, time_s, report } => {
                let role = SensorRole::shank(side);
                let row = rows::alignment(self.visit, role, time_s, &report);
                self.writer.send(Write::Alignment(row)).await
            }
            Record::Repetition { key, repetition } => {
                let row = NewRepetition {
                    rater: self.rater.clone(),
                    end_criterion: self.end_criterion,
                    ..rows::repetition(self.visit, &repetition, rows::ValueKind::Live)
                };
                let event = match self.writer.add_repetition(row).await {
                    Ok(id) => {
                        self.meters.reached(Way::Kept, since_s);
                        self.repetitions.insert(key, id);
                        VisitEvent::Kept { key, id: id.to_string() }
                    }
                    Err(WriteError::Refused(reason)) => VisitEvent::NotKept { key, reason },
                    Err(error) => return Err(error),
                };
                self.answer(Answer::Visit(event)).await;
                Ok(())
            }
            Record::Refined { key, repetition } => {
                let Some(&repetition_id) = self.repetitions.get(&key) else { return Ok(()) };
                let value = rows::value(&repetition, rows::ValueKind::Live);
                let write = Write::RepetitionValue { repetition: repetition_id, value };
                self.writer.send(write).await
            }
            Record::StruckOut { key, reason } => {
                let Some(&repetition) = self.repetitions.get(&key) else { return Ok(()) };
                let reason = Some(reason.to_owned());
                self.writer.send(Write::StrikeOut { repetition, reason }).await
            }
            Record::Answered { time_s, step, answer } => self.answered(time_s, step, answer).await,
            Record::Loss(loss) => self.writer.send(Write::Gap(rows::gap(self.visit, &loss))).await,
            Record::Mark { time_s, command } => {
                self.writer.send(Write::Mark(rows::mark(self.visit, time_s, command))).await
            }
            Record::Look(look) => {
                self.writer.send(Write::Look(rows::look(self.visit, &look))).await
            }
        }
    }

    /// Stores what was found of a sensor or table, with when it was.
    async fn found(&self, found: Found) -> Result<Known, WriteError> {
        let now = clock::wall().timestamp();
        match found {
            Found::Calibration { sensor: role, temperature_c, calibration } => {
                let device = self.devices.iter().find(|device| device.role == role);
                let missing = || WriteError::Refused(format!("there is no {role} sensor"));
                let Device { address, name, .. } = device.ok_or_else(missing)?.clone();
                let found = SensorCalibration::new(&address, now, temperature_c, &calibration);
                let new = NewCalibration { name, calibration: found.clone() };
                self.writer.save(Write::Calibration(Box::new(new))).await?;
                self.writer.save(Write::Recalibrated { visit: self.visit, role }).await?;
                Ok(Known::Sensor(role, Box::new(found)))
            }
            Found::Level { table, level } => {
                let new = NewTableLevel { table: table.clone(), levelled_at: now, level };
                self.writer.save(Write::TableLevel(new)).await?;
                Ok(Known::Table(TableRecord { name: table, levelled_at: now, level }))
            }
        }
    }

    /// Stores an answer; whose hands and which end criterion it names hold for what is captured from
    /// now on.
    async fn answered(
        &mut self,
        at_s: f64,
        step: Step,
        answer: visit::Answer,
    ) -> Result<(), WriteError> {
        match &answer {
            visit::Answer::Rater(rater) => self.rater = rater.code.parse().ok(),
            visit::Answer::Plan(plan) => self.end_criterion = Some(plan.end_criterion),
            _ => {}
        }
        let at = clock::wall().timestamp();
        let new = NewAnswer { visit: self.visit, at_s, at, step, answer };
        self.writer.save(Write::Answer(Box::new(new))).await.map(drop)
    }

    async fn begin_span(&mut self, mark: SpanMark) -> Result<(), WriteError> {
        let SpanMark { trial_type, side, time_s: start_s } = mark;
        let new = NewSpan { visit: self.visit, trial_type, side, start_s };
        let id = self.writer.begin_span(new).await?;
        self.spans.push((trial_type, side, id));
        Ok(())
    }

    async fn end_span(&mut self, mark: SpanMark) -> Result<(), WriteError> {
        let open = |(trial_type, side, _): &(TrialType, Option<Side>, SpanId)| {
            *trial_type == mark.trial_type && *side == mark.side
        };
        let Some(place) = self.spans.iter().position(open) else { return Ok(()) };
        let (_, _, span) = self.spans.remove(place);
        self.writer.send(Write::EndSpan { span, end_s: mark.time_s }).await
    }

    async fn answer(&self, answer: Answer) {
        // The pipeline hears nothing any more only once it has failed, and then says so itself.
        self.answers.send(answer).await.ok();
    }
}
