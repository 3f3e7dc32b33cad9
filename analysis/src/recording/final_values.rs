//! Final results of a recording, with all of it at hand: what the end of a visit computes.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::Phase;

use super::legs::Legs;
use super::roll::Roll;
use super::turning;
use super::{LegResult, Recording, RecordingError};
use crate::dose;
use crate::follower::Follower;
use crate::leg::{Leg, Shown};
use crate::preparation;
use crate::repetition::Point;
use crate::repetition::detector::{Excursion, Noticed};
use crate::result::Repetition;
use crate::track::{Track, TrackError};
use crate::verdict;

pub(super) fn analyse(recording: &Recording<'_>) -> Result<LegResult, RecordingError> {
    let Followed { legs, shown, points, spans } = follow(recording)?;
    let repetitions = repetitions(&legs, &shown, &points, (&spans, recording.marks));
    let verdicts = verdict::verdicts(recording.side, recording.test, &repetitions);
    Ok(LegResult {
        alignment: legs.first().alignment_report(),
        repetitions,
        doses: dose::of(&spans, &points),
        verdicts,
    })
}

/// The leg at each accepted sample.
pub(super) fn curve(recording: &Recording<'_>) -> Result<Vec<Point>, RecordingError> {
    Ok(follow(recording)?.points)
}

/// A leg over its recording.
struct Followed {
    legs: Legs,
    shown: Vec<Shown>,
    points: Vec<Point>,
    spans: Vec<Event>,
}

fn follow(recording: &Recording<'_>) -> Result<Followed, RecordingError> {
    let config = recording.config();
    let shank = Track::of("shank", recording.shank, &config.offsets.shank)?;
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
    let legs = Legs::of(leg, &shank);
    let shown = shown(legs.first(), &shank, &spans);
    let points: Vec<Point> = shown
        .iter()
        .map(|one| {
            let roll = pelvis.as_ref().and_then(|roll| roll.at(one.time_s));
            legs.at(one.time_s).point(one, roll)
        })
        .collect();
    Ok(Followed { legs, shown, points, spans })
}

/// What the shank showed at each accepted sample.
fn shown(leg: &Leg, shank: &Track, spans: &[Event]) -> Vec<Shown> {
    let accepted = shank.samples.iter().zip(&shank.orientations).filter(|(_, o)| o.accepted);
    let mut shown: Vec<Shown> = accepted
        .map(|(sample, orientation)| Shown {
            time_s: sample.time_s,
            up: orientation.up(),
            momentary_sd_rad: orientation.inclination_sd_rad,
            turned: None,
            saturated: sample.flags.accel_saturated || sample.flags.gyro_saturated,
        })
        .collect();
    turning::turn(leg, shank, spans, &mut shown);
    shown
}

fn repetitions(
    legs: &Legs,
    shown: &[Shown],
    points: &[Point],
    (spans, marks): (&[Event], &[f64]),
) -> Vec<Repetition> {
    let Some(last) = shown.last() else { return Vec::new() };
    let shown_at =
        |time_s: f64| *shown.get(shown.partition_point(|one| one.time_s < time_s)).unwrap_or(last);
    excursions(legs.first(), points, spans, marks)
        .into_iter()
        .filter_map(|(excursion, phase)| {
            legs.at(excursion.start_s).repetition(&excursion, phase, shown_at)
        })
        .collect()
}

/// The excursions of baseline and retest. The detector follows the whole recording, so that it
/// knows where the limb rests; whatever is in progress when a span begins or ends is cut there.
fn excursions(
    leg: &Leg,
    points: &[Point],
    spans: &[Event],
    marks: &[f64],
) -> Vec<(Excursion, Phase)> {
    let span_at =
        |time_s: f64| spans.iter().rposition(|span| (span.onset_s..span.end_s()).contains(&time_s));
    let mut follower = Follower::new(leg.test);
    let mut found = Vec::new();
    let mut current = None;
    let mut marks = marks.iter().peekable();
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
            keep(follower.cut(), current);
            current = span;
        }
        while marks.next_if(|mark_s| **mark_s <= point.time_s).is_some() {
            follower.mark();
        }
        if let Some(Noticed::Over(excursion)) = follower.push(*point).noticed {
            keep(Some(excursion), current);
        }
    }
    keep(follower.cut(), current);
    found
}
