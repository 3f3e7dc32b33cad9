//! Final results of a recording, with all of it at hand: what the end of a visit computes.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::Phase;

use super::roll::Roll;
use super::{LegResult, Recording, RecordingError};
use crate::dose;
use crate::leg::{self, Leg};
use crate::preparation;
use crate::repetition::Point;
use crate::repetition::detector::{Detector, Excursion, Noticed};
use crate::result::Repetition;
use crate::track::{Track, TrackError};
use crate::verdict;

pub(super) fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    let config = recording.config();
    let shank = Track::of("shank", recording.shank)?;
    let spans = recording.spans();
    let leg = preparation::prepare(&shank, &spans, config)?;
    let neutral = preparation::neutral(&spans, config.side)?;
    let pelvis = match recording.pelvis.map(|samples| Roll::of(samples, neutral, &spans, config)) {
        // A sensor that was silent is no sensor: the repetitions say that the pelvis was not seen.
        Some(Err(
            TrackError::NoSamplesInSpan { .. } | TrackError::TooFewSamples { count: 0, .. },
        )) => None,
        other => other.transpose()?,
    };
    let points = points(&leg, &shank, pelvis.as_ref());
    let repetitions = repetitions(&leg, &shank, &points, &spans);
    let verdicts = verdict::verdicts(recording.side, recording.test, &repetitions);
    Ok(LegResult {
        alignment: leg.alignment_report(),
        repetitions,
        doses: dose::of(&spans, &points),
        verdicts,
    })
}

fn points(leg: &Leg, shank: &Track, pelvis: Option<&Roll>) -> Vec<Point> {
    shank
        .samples
        .iter()
        .zip(&shank.orientations)
        .filter(|(_, orientation)| orientation.accepted)
        .map(|(sample, orientation)| Point {
            saturated: sample.flags.accel_saturated || sample.flags.gyro_saturated,
            ..leg.point(
                sample.time_s,
                &orientation.up(),
                pelvis.and_then(|roll| roll.at(sample.time_s)),
            )
        })
        .collect()
}

fn repetitions(leg: &Leg, shank: &Track, points: &[Point], spans: &[Event]) -> Vec<Repetition> {
    let vertical_at = |time_s: f64| {
        let at = shank.samples.partition_point(|sample| sample.time_s < time_s);
        let orientation = shank.orientations[at.min(shank.orientations.len() - 1)];
        (orientation.up(), orientation.inclination_sd_rad)
    };
    excursions(leg, points, spans)
        .into_iter()
        .filter_map(|(excursion, phase)| leg.repetition(&excursion, phase, vertical_at))
        .collect()
}

/// The excursions of baseline and retest. The detector follows the whole recording, so that it
/// knows where the limb rests; whatever is in progress when a span begins or ends is cut there.
fn excursions(leg: &Leg, points: &[Point], spans: &[Event]) -> Vec<(Excursion, Phase)> {
    let span_at =
        |time_s: f64| spans.iter().rposition(|span| (span.onset_s..span.end_s()).contains(&time_s));
    let mut detector = Detector::new(leg.test.directions());
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
