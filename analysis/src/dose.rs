//! What was done in a treatment span: movements, not repetitions.

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::TrialType;

use crate::follower;
use crate::repetition::Point;
use crate::result::Dose;

/// The dose of each treatment span, from the points of the whole recording (by time).
#[must_use]
pub fn of(spans: &[Event], points: &[Point]) -> Vec<Dose> {
    spans
        .iter()
        .filter(|span| span.trial_type == TrialType::Treatment)
        .map(|span| {
            let from = points.partition_point(|point| point.time_s < span.onset_s);
            let to = points.partition_point(|point| point.time_s < span.end_s());
            let raised = points[from..to].iter().filter(|point| follower::raised(point.knee_deg));
            summarise(span.onset_s, span.duration_s, &raised.copied().collect::<Vec<_>>())
        })
        .collect()
}

/// Summarises the points of a treatment span (empty if the leg was not raised in it).
fn summarise(start_s: f64, duration_s: f64, points: &[Point]) -> Dose {
    let angles = || points.iter().map(|point| point.angle_deg);
    Dose {
        start_s,
        duration_s,
        oscillations: oscillations(angles()),
        min_deg: angles().reduce(f64::min),
        max_deg: angles().reduce(f64::max),
    }
}

/// Movements to and fro: turning points more than [`LEAST_SWING_DEG`] apart, in pairs.
fn oscillations(angles: impl Iterator<Item = f64>) -> usize {
    let mut turns = 0;
    let mut rising: Option<bool> = None;
    let mut extreme: Option<f64> = None;
    for angle in angles {
        let from = *extreme.get_or_insert(angle);
        match rising {
            None if (angle - from).abs() > LEAST_SWING_DEG => {
                (rising, extreme) = (Some(angle > from), Some(angle));
            }
            None => {}
            Some(up) => {
                let onward = if up { angle > from } else { angle < from };
                if onward {
                    extreme = Some(angle);
                } else if (angle - from).abs() > LEAST_SWING_DEG {
                    (rising, extreme) = (Some(!up), Some(angle));
                    turns += 1;
                }
            }
        }
    }
    turns / 2
}

// Smaller swings are tremor.
const LEAST_SWING_DEG: f64 = 2.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_swings_and_not_tremor() {
        let angle = |i: u32| {
            let time = f64::from(i) * 0.01;
            30.0 + 3.0 * (std::f64::consts::TAU * time).sin()
                + 0.25 * (std::f64::consts::TAU * 6.0 * time).sin()
        };
        let count = oscillations((0..1000).map(angle));
        assert!((9..=10).contains(&count), "{count} in ten seconds at one a second");
    }

    #[test]
    fn an_empty_span_has_no_angles() {
        assert_eq!(summarise(1.0, 2.0, &[]).max_deg, None);
    }
}
