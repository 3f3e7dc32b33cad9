//! The hip rotation by heading over a whole recording, every rest at neutral known.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::TrialType;

use crate::follower::Follower;
use crate::heading::{Holding, Turn, Turned, Unwrap, ZeroTrack};
use crate::leg::{Leg, Shown};
use crate::track::Track;

/// Fills in the hip rotation by heading, for the test that needs it.
pub(super) fn turn(leg: &Leg, shank: &Track, spans: &[Event], shown: &mut [Shown]) {
    let accepted = shank.orientations.iter().filter(|orientation| orientation.accepted);
    let headings: Option<Vec<f64>> =
        accepted.map(|orientation| leg.heading(&orientation.attitude())).collect();
    let Some(headings) = headings else { return };
    let Some(zeros) = zeros(leg, &headings, spans, shown) else { return };
    let mut unwrap = Unwrap::default();
    for (one, heading) in shown.iter_mut().zip(headings) {
        let (zero_rad, sd_rad) = zeros.at(one.time_s);
        one.turned = Some(Turned { angle_rad: unwrap.next(heading) - zero_rad, sd_rad });
    }
}

/// First from rest to rest as it comes, which shows where the rests are.
fn zeros(leg: &Leg, headings: &[f64], spans: &[Event], shown: &[Shown]) -> Option<ZeroTrack> {
    let neutral = |time_s: f64| {
        spans.iter().any(|span| {
            span.trial_type == TrialType::Neutral && (span.onset_s..span.end_s()).contains(&time_s)
        })
    };
    let (mut turn, mut follower) = (Turn::default(), Follower::new(leg.test));
    for (one, heading) in shown.iter().zip(headings) {
        let holding =
            if neutral(one.time_s) { Holding::Neutral } else { Holding::seen(follower.still()) };
        let turned = turn.push(one.time_s, *heading, holding);
        follower.push(leg.point(&Shown { turned, ..*one }, None));
    }
    ZeroTrack::of(turn.rests())
}
