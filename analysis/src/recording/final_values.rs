//! Final results of a recording, with all of it at hand: what the end of a visit computes.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{Phase, TrialType};
use nalgebra::Vector3;

use super::track::{Roll, Track};
use super::{LegResult, Recording, RecordingError};
use crate::alignment::{self, Alignment, BendSample};
use crate::dose;
use crate::leg::{self, Leg};
use crate::repetition::Point;
use crate::repetition::detector::{Detector, Excursion, Noticed};
use crate::result::{Dose, Repetition};
use crate::verdict;

pub(super) fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    let shank = Track::of("shank", recording.shank)?;
    let spans: Vec<Event> =
        recording.events.iter().copied().filter(|event| event.concerns(recording.side)).collect();
    let neutral = first(&spans, TrialType::Neutral)
        .ok_or(RecordingError::NoNeutral { side: recording.side })?;
    let neutral_up = shank.neutral_up(neutral)?;
    let leg = Leg {
        side: recording.side,
        test: recording.test,
        alignment: align(&shank, &spans, neutral, &neutral_up)?,
        offset: shank.offset.clone(),
        neutral_up,
        pelvis: recording.pelvis.is_some(),
    };
    let pelvis = recording
        .pelvis
        .map(|samples| Roll::of(samples, neutral, &spans, recording.side, recording.test))
        .transpose()?;
    let points = points(&leg, &shank, pelvis.as_ref());
    let repetitions = repetitions(&leg, &shank, &points, &spans);
    let verdicts = verdict::verdicts(recording.side, &repetitions);
    Ok(LegResult {
        alignment: leg.alignment_report(),
        repetitions,
        doses: doses(&points, &spans),
        verdicts,
    })
}

fn first(spans: &[Event], kind: TrialType) -> Option<&Event> {
    spans.iter().find(|span| span.trial_type == kind)
}

fn align(
    shank: &Track,
    spans: &[Event],
    neutral: &Event,
    neutral_up: &Vector3<f64>,
) -> Result<Alignment, RecordingError> {
    let bias = shank.mean_rate(neutral)?;
    let Some(bends) = first(spans, TrialType::AlignKnee) else {
        let measured = spans.iter().filter(|span| span.trial_type.phase().is_some());
        let rates = measured
            .filter_map(|span| shank.within(span).ok())
            .flat_map(|range| &shank.samples[range])
            .filter(|sample| sample.is_finite())
            .map(|sample| Vector3::from(sample.gyro_rad_s) - bias);
        return Ok(alignment::quick(neutral_up, rates));
    };
    let bends: Vec<BendSample> = shank
        .within(bends)?
        .filter(|&i| shank.orientations[i].accepted)
        .map(|i| BendSample {
            rate: Vector3::from(shank.samples[i].gyro_rad_s) - bias,
            up: shank.orientations[i].up(),
        })
        .collect();
    Ok(alignment::from_knee_bends(neutral_up, &bends, alignment::SMOOTHED_UP_SD_RAD)?)
}

fn points(leg: &Leg, shank: &Track, pelvis: Option<&Roll>) -> Vec<Point> {
    shank
        .samples
        .iter()
        .zip(&shank.orientations)
        .filter(|(_, orientation)| orientation.accepted)
        .map(|(sample, orientation)| Point {
            saturated: sample.flags.accel_saturated || sample.flags.gyro_saturated,
            ..leg.point(sample.time_s, &orientation.up(), pelvis.map(|roll| roll.at(sample.time_s)))
        })
        .collect()
}

fn repetitions(leg: &Leg, shank: &Track, points: &[Point], spans: &[Event]) -> Vec<Repetition> {
    let vertical_at = |time_s: f64| {
        let at = shank.samples.partition_point(|sample| sample.time_s < time_s);
        let orientation = shank.orientations[at.min(shank.orientations.len() - 1)];
        (orientation.up(), orientation.inclination_sd_rad)
    };
    excursions(points, spans)
        .into_iter()
        .filter_map(|(excursion, phase)| leg.repetition(&excursion, phase, vertical_at))
        .collect()
}

/// The excursions of baseline and retest. The detector follows the whole recording, so that it
/// knows where the limb rests; whatever is in progress when a span begins or ends is cut there.
fn excursions(points: &[Point], spans: &[Event]) -> Vec<(Excursion, Phase)> {
    let span_at =
        |time_s: f64| spans.iter().rposition(|span| (span.onset_s..span.end_s()).contains(&time_s));
    let mut detector = Detector::default();
    let mut found = Vec::new();
    let mut current = None;
    let mut keep = |excursion: Option<Excursion>, span: Option<usize>| {
        let phase = span.and_then(|span| spans[span].trial_type.phase());
        if let (Some(excursion), Some(phase @ (Phase::Baseline | Phase::Retest))) =
            (excursion, phase)
        {
            found.push((excursion, phase));
        }
    };
    for point in points {
        let span = span_at(point.time_s);
        if span != current {
            keep(detector.cut(), current);
            current = span;
        }
        if leg::raised(point.knee_deg) {
            if let Some(Noticed::Over(excursion)) = detector.push(*point) {
                keep(Some(excursion), current);
            }
        } else if leg::laid_down(point.knee_deg) {
            keep(detector.finish(), current);
        }
    }
    keep(detector.finish(), current);
    found
}

pub(super) fn doses(points: &[Point], spans: &[Event]) -> Vec<Dose> {
    spans
        .iter()
        .filter(|span| span.trial_type == TrialType::Treatment)
        .map(|span| {
            let from = points.partition_point(|point| point.time_s < span.onset_s);
            let to = points.partition_point(|point| point.time_s < span.end_s());
            let raised: Vec<Point> = points[from..to]
                .iter()
                .filter(|point| leg::raised(point.knee_deg))
                .copied()
                .collect();
            dose::summarise(span.onset_s, span.duration_s, &raised)
        })
        .collect()
}
