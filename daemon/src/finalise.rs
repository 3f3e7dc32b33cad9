//! Final values of a visit: raw samples read back, analysed whole, stored beside the live values.
//!
//! What is computed once at a visit's end is computed by the same code whenever its raw samples are
//! analysed again.

use std::path::Path;

use endarc_analysis::recording::{self, LegResult, Recording, RecordingError};
use endarc_analysis::result::{Dose, Flag, Repetition, Verdict};
use endarc_analysis::verdict::{Changed, Conditions, Looks, Primary, verdicts_under};
use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Phase, SensorRole, Side};

use crate::corrections::Corrections;
use crate::pairing;
use crate::pipeline::rows::{self, ValueKind};
use crate::store::records::{RepetitionRecord, VisitRecord};
use crate::store::rows::{Mark, RepetitionValue};
use crate::store::{ReadError, Reader, RepetitionId, VisitId, Write, WriteError, WriterHandle};

/// The reason stored with a live repetition that the analysis of the whole visit does not find. It
/// is taken back by an analysis that finds it.
pub const NOT_FOUND_AGAIN: &str = "the analysis of the whole visit does not find it";

/// Why there are no final values.
#[derive(Debug, thiserror::Error)]
pub enum FinaliseError {
    /// What was recorded cannot be read back.
    #[error("the visit cannot be read back: {0}")]
    Read(#[from] ReadError),
    /// There is no such visit.
    #[error("there is no visit {0}: list the visits there are with `endarc visits`")]
    NoVisit(VisitId),
    /// The results cannot be stored.
    #[error("the final values cannot be stored: {0}")]
    Write(#[from] WriteError),
    /// The analysis did not come to an end.
    #[error("the analysis of the whole visit broke off; the live values are kept")]
    BrokeOff,
}

/// One repetition of the visit.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptRepetition {
    /// Its key.
    pub id: RepetitionId,
    /// With its final value; with the live one where its leg has no final values.
    pub repetition: Repetition,
    /// Why it does not count, if so.
    pub struck_out: Option<String>,
}

/// What the visit came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Finalised {
    /// The repetitions, by time.
    pub repetitions: Vec<KeptRepetition>,
    /// Before against after: per leg internal, external, total.
    pub verdicts: Vec<Verdict>,
    /// What was done in treatment, per leg.
    pub doses: Vec<(Side, Dose)>,
    /// Legs without final values, and why.
    pub failed: Vec<(Side, RecordingError)>,
}

impl Finalised {
    /// The repetitions that count.
    pub fn counting(&self) -> impl Iterator<Item = &KeptRepetition> {
        self.repetitions.iter().filter(|kept| kept.struck_out.is_none())
    }
}

/// Computes the final values of a visit and stores them.
///
/// # Errors
/// [`FinaliseError`]; a leg that cannot be analysed is none, it is told in
/// [`Finalised::failed`].
pub async fn finalise(
    data_dir: &Path,
    writer: &WriterHandle,
    visit: VisitId,
) -> Result<Finalised, FinaliseError> {
    let folder = data_dir.to_owned();
    let computing = tokio::task::spawn_blocking(move || compute(&folder, visit));
    let (record, legs) = computing.await.map_err(|_panicked| FinaliseError::BrokeOff)??;
    let mut finalised = Finalised::default();
    for (side, result) in legs {
        let live: Vec<&RepetitionRecord> =
            record.repetitions.iter().filter(|repetition| repetition.side == side).collect();
        match result {
            Ok(leg) => store(writer, &record, side, leg, &live, &mut finalised).await?,
            Err(error) => {
                finalised.repetitions.extend(live.into_iter().filter_map(as_live));
                finalised.failed.push((side, error));
            }
        }
    }
    finalised
        .repetitions
        .sort_by(|a, b| a.repetition.end_range_at_s.total_cmp(&b.repetition.end_range_at_s));
    Ok(finalised)
}

/// Each leg that was measured, with what its recording came to.
pub(crate) type Legs = Vec<(Side, Result<LegResult, RecordingError>)>;

/// Reads a visit back and analyses each leg that was measured. Blocks.
pub(crate) fn compute(
    data_dir: &Path,
    visit: VisitId,
) -> Result<(VisitRecord, Legs), FinaliseError> {
    each_leg(data_dir, visit, recording::analyse)
}

/// Reads a visit back and does something with the recording of each leg that was measured. Blocks.
pub(crate) fn each_leg<T>(
    data_dir: &Path,
    visit: VisitId,
    what: impl Fn(&Recording<'_>) -> T,
) -> Result<(VisitRecord, Vec<(Side, T)>), FinaliseError> {
    let reader = Reader::open(data_dir)?;
    let record = reader.visit(visit)?.ok_or(FinaliseError::NoVisit(visit))?;
    let events = events(&record);
    let corrections = Corrections::of(&record);
    let worn = |role| record.sensors.iter().any(|sensor| sensor.role == role);
    let pelvis = match worn(SensorRole::Pelvis) {
        true => Some(samples(&reader, visit, SensorRole::Pelvis, &corrections)?),
        false => None,
    };
    let measured = |side: Side| {
        let phase = |event: &Event| event.concerns(side) && event.trial_type.phase().is_some();
        worn(SensorRole::shank(side)) && events.iter().any(phase)
    };
    let is_pressed = |mark: &&Mark| mark.kind == rows::MARK;
    let marks: Vec<f64> = record.marks.iter().filter(is_pressed).map(|mark| mark.at_s).collect();
    let mut legs = Vec::new();
    for side in Side::ALL.iter().copied().filter(|&side| measured(side)) {
        let shank = samples(&reader, visit, SensorRole::shank(side), &corrections)?;
        let recording = Recording {
            marks: &marks,
            shank: &shank,
            pelvis: pelvis.as_deref(),
            events: &events,
            side,
            test: record.summary.test,
            levelling: record.levelling(),
            offsets: corrections.offsets(side),
        };
        legs.push((side, what(&recording)));
    }
    Ok((record, legs))
}

/// The spans of a visit as the analysis takes them.
pub(crate) fn events(record: &VisitRecord) -> Vec<Event> {
    let event = |span: &crate::store::records::Span| Event {
        onset_s: span.start_s,
        duration_s: (span.end_s.unwrap_or(span.start_s) - span.start_s).max(0.0),
        trial_type: span.trial_type,
        side: span.side,
    };
    record.spans.iter().map(event).collect()
}

/// The samples of one role, as they are to be analysed.
fn samples(
    reader: &Reader,
    visit: VisitId,
    role: SensorRole,
    corrections: &Corrections,
) -> Result<Vec<Sample>, ReadError> {
    let mut all = Vec::new();
    for chunk in reader.raw_samples(visit, role) {
        all.extend(chunk?.iter().map(|sample| corrections.correct(role, sample)));
    }
    Ok(all)
}

/// Stores one leg's results beside what was captured live.
async fn store(
    writer: &WriterHandle,
    record: &VisitRecord,
    side: Side,
    leg: LegResult,
    live: &[&RepetitionRecord],
    finalised: &mut Finalised,
) -> Result<(), FinaliseError> {
    let visit = record.summary.id;
    let ended_s = record.summary.ended_s.unwrap_or_default();
    let row = rows::alignment(visit, SensorRole::shank(side), ended_s, &leg.alignment);
    writer.send(Write::Alignment(row)).await?;

    let captured: Vec<pairing::Span> =
        live.iter().map(|record| pairing::Span::from(*record)).collect();
    let found: Vec<pairing::Span> = leg.repetitions.iter().map(pairing::Span::from).collect();
    let mut partner_of = pairing::pair(&captured, &found);
    let mut kept = Vec::new();
    for (number, repetition) in leg.repetitions.into_iter().enumerate() {
        let partner = partner_of.iter_mut().find(|pair| pair.found == number);
        let record = partner.and_then(|pair| live.get(pair.captured));
        kept.push(store_repetition(writer, visit, repetition, record.copied()).await?);
    }
    for (number, record) in live.iter().enumerate() {
        let paired = partner_of.iter().any(|pair| pair.captured == number);
        if !paired && record.struck_out.is_none() {
            let reason = Some(NOT_FOUND_AGAIN.to_owned());
            writer.send(Write::StrikeOut { repetition: record.id, reason }).await?;
        }
    }
    let counting: Vec<Repetition> = kept
        .iter()
        .filter(|kept| kept.struck_out.is_none())
        .map(|kept| kept.repetition.clone())
        .collect();
    let compared = verdicts_under(&conditions(record, side), side, record.summary.test, &counting);
    for verdict in &compared {
        // Saved, not sent: when this is over, everything is on disk.
        writer.save(Write::Verdict(rows::verdict(visit, verdict))).await?;
    }
    finalised.repetitions.extend(kept);
    finalised.verdicts.extend(compared);
    finalised.doses.extend(leg.doses.into_iter().map(|dose| (side, dose)));
    Ok(())
}

/// Under which conditions a leg's baseline and retest are compared. Looks that were made while they
/// could still decide whether to go on are paid for.
#[must_use]
pub fn conditions(record: &VisitRecord, side: Side) -> Conditions {
    let primary = |(side, direction)| Primary { side, direction: Some(direction) };
    let looked = record.looks.iter().any(|look| look.side == side);
    Conditions {
        changed: changed(record, side),
        primary: record.primary.map(primary),
        looks: if looked { Looks::AfterEach } else { Looks::Once },
        stopped_by_pain: record.marks.iter().any(|mark| mark.kind == rows::PAIN_STOP),
        ..Conditions::default()
    }
}

/// What the repetitions themselves say that differed between baseline and retest.
fn changed(record: &VisitRecord, side: Side) -> Vec<Changed> {
    let of = |phase: Phase| {
        let counts = move |one: &&RepetitionRecord| {
            one.side == side && one.phase == phase && one.struck_out.is_none()
        };
        record.repetitions.iter().filter(counts)
    };
    let pairs = || {
        of(Phase::Baseline).flat_map(|before| of(Phase::Retest).map(move |after| (before, after)))
    };
    let raters = pairs().any(|(before, after)| before.rater != after.rater);
    let criteria = pairs().any(|(before, after)| before.end_criterion != after.end_criterion);
    let all = [(raters, Changed::Rater), (criteria, Changed::EndCriterion)];
    all.into_iter().filter_map(|(differs, changed)| differs.then_some(changed)).collect()
}

/// Stores a final value with the repetition it belongs to, or as a new one that live missed.
async fn store_repetition(
    writer: &WriterHandle,
    visit: VisitId,
    repetition: Repetition,
    live: Option<&RepetitionRecord>,
) -> Result<KeptRepetition, WriteError> {
    let Some(live) = live else {
        let row = rows::repetition(visit, &repetition, ValueKind::Final);
        let id = writer.add_repetition(row).await?;
        return Ok(KeptRepetition { id, repetition, struck_out: None });
    };
    // A person may have put the phase right; which direction it was, the signal tells.
    let repetition = Repetition { phase: live.phase, ..repetition };
    let value = rows::value(&repetition, ValueKind::Final);
    writer.send(Write::RepetitionValue { repetition: live.id, value }).await?;
    let mut struck_out = live.struck_out.clone();
    // An earlier analysis did not find it, this one does. What a person struck out stays so.
    if struck_out.take_if(|reason| reason == NOT_FOUND_AGAIN).is_some() {
        writer.send(Write::StrikeOut { repetition: live.id, reason: None }).await?;
    }
    Ok(KeptRepetition { id: live.id, repetition, struck_out })
}

fn as_live(record: &RepetitionRecord) -> Option<KeptRepetition> {
    Some(KeptRepetition {
        id: record.id,
        repetition: repetition(record, record.value()?),
        struck_out: record.struck_out.clone(),
    })
}

/// A stored value as the analysis gave it.
#[must_use]
pub fn repetition(record: &RepetitionRecord, value: &RepetitionValue) -> Repetition {
    let flag = |text: &String| Flag::ALL.into_iter().find(|flag| flag.as_str() == text);
    Repetition {
        side: record.side,
        phase: record.phase,
        direction: record.direction,
        end_range_deg: value.end_range_deg,
        uncertainty_deg: value.uncertainty_deg,
        start_s: value.start_s,
        end_range_at_s: value.end_range_at_s,
        hold_s: value.hold_s,
        knee_flexion_deg: value.knee_flexion_deg,
        pelvis_roll_deg: value.pelvis_roll_deg,
        barriers: value.barriers,
        flags: value.flags.iter().filter_map(flag).collect(),
    }
}

#[cfg(test)]
mod tests;
