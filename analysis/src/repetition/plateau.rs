//! The value of an excursion: its plateau, not the maximum of noise.
//!
//! The rule: the angle along the direction is averaged over a moving window of 0.3 s; its highest
//! value is the top. The *plateau* is the run around the top that stays within 0.5° of it. A run of
//! at least 0.4 s is a hold, and the end range is the mean of the raw angle over it, its first and last
//! tenths left out (there the limb still arrives or already leaves). A shorter one is a touched end, and
//! the end range is the crest of a parabola through the raw angle within 0.25 s of the top.
//! Where the therapist marked the end range, the top is looked for within 0.5 s of the mark.

use nalgebra::{Matrix3, Vector3};

use super::Point;
use super::barrier::{self, Barriers};
use super::detector::Excursion;

/// The end range of an excursion. Angles along its direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plateau {
    /// The end range, degrees along the direction.
    pub end_range_deg: f64,
    /// One standard uncertainty from what the plateau itself did, degrees.
    pub sd_deg: f64,
    /// A moment inside it, s.
    pub at_s: f64,
    /// Time spent at it, s; 0 where it was only touched.
    pub hold_s: f64,
    /// Knee flexion there, degrees.
    pub knee_deg: f64,
    /// Pelvis roll there along the direction, degrees.
    pub roll_deg: Option<f64>,
    /// Fastest mean rate on the way there, °/s.
    pub fastest_deg_s: f64,
    /// Where a contraction on the way began and ended.
    pub barriers: Option<Barriers>,
}

/// Measures an excursion; `None` if it has no points.
#[must_use]
pub fn measure(excursion: &Excursion) -> Option<Plateau> {
    let points = &excursion.points;
    let sign = excursion.direction.sign();
    let level = moving_mean(points, sign);
    let marked = |at: &usize| {
        excursion.marked_s.is_none_or(|mark_s| (points[*at].time_s - mark_s).abs() <= MARK_S)
    };
    let top = (0..points.len()).filter(marked).max_by(|&a, &b| level[a].total_cmp(&level[b]))?;
    let away = |&i: &usize| (level[i] - level[top]).abs() > BAND_DEG;
    let first = (0..top).rev().find(away).map_or(0, |i| i + 1);
    let last = (top..points.len()).find(away).map_or(points.len() - 1, |i| i - 1);
    let run_s = points[last].time_s - points[first].time_s;
    let (from, to, hold_s) = if run_s >= HOLD_S { (first, last, run_s) } else { (top, top, 0.0) };
    let part = &points[from..=to];
    let (end_range_deg, sd_deg) =
        if hold_s > 0.0 { held(part, sign) } else { touched(points, top, sign) };
    let mean =
        |value: &dyn Fn(&Point) -> f64| part.iter().map(value).sum::<f64>() / part.len() as f64;
    Some(Plateau {
        end_range_deg,
        sd_deg,
        at_s: points[usize::midpoint(from, to)].time_s,
        hold_s,
        knee_deg: mean(&|point| point.knee_deg),
        roll_deg: part
            .iter()
            .all(|point| point.roll_deg.is_some())
            .then(|| sign * mean(&|point| point.roll_deg.unwrap_or(0.0))),
        fastest_deg_s: fastest(&points[..=top], &level),
        barriers: barrier::barriers(points, &level, from, end_range_deg),
    })
}

/// The angle along the direction, averaged over a centred window.
fn moving_mean(points: &[Point], sign: f64) -> Vec<f64> {
    let (mut from, mut to, mut sum) = (0, 0, 0.0);
    points
        .iter()
        .map(|centre| {
            while to < points.len() && points[to].time_s <= centre.time_s + HALF_WINDOW_S {
                sum += points[to].angle_deg * sign;
                to += 1;
            }
            while points[from].time_s < centre.time_s - HALF_WINDOW_S {
                sum -= points[from].angle_deg * sign;
                from += 1;
            }
            sum / (to - from) as f64
        })
        .collect()
}

fn held(run: &[Point], sign: f64) -> (f64, f64) {
    let trim = run.len() / 10;
    let kept = &run[trim..run.len() - trim];
    let count = kept.len() as f64;
    let mean = kept.iter().map(|point| point.angle_deg * sign).sum::<f64>() / count;
    let variance = kept.iter().map(|p| (p.angle_deg * sign - mean).powi(2)).sum::<f64>() / count;
    let span_s = kept.last().map_or(0.0, |p| p.time_s) - kept.first().map_or(0.0, |p| p.time_s);
    // Neighbouring samples tremble together: about one independent value in each tremor's period.
    let independent = (span_s / TREMOR_PERIOD_S).max(1.0);
    (mean, (variance / independent).sqrt())
}

fn touched(points: &[Point], top: usize, sign: f64) -> (f64, f64) {
    let centre = points[top].time_s;
    let near: Vec<_> = points.iter().filter(|p| (p.time_s - centre).abs() <= CREST_S).collect();
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for point in &near {
        let t = (point.time_s - centre) / CREST_S;
        let row = Vector3::new(1.0, t, t * t);
        normal += row * row.transpose();
        right += row * (point.angle_deg * sign);
    }
    let highest = points[top].angle_deg * sign;
    let Some(inverse) = normal.try_inverse().filter(|_| near.len() >= LEAST_CREST_POINTS) else {
        return (highest, CREST_SD_DEG);
    };
    let crest = inverse * right;
    let vertex = if crest.z < 0.0 { (-crest.y / (2.0 * crest.z)).clamp(-1.0, 1.0) } else { 0.0 };
    (crest.x + crest.y * vertex + crest.z * vertex * vertex, CREST_SD_DEG)
}

fn fastest(way: &[Point], level: &[f64]) -> f64 {
    let mut from = 0;
    let mut fastest: f64 = 0.0;
    for to in 0..way.len() {
        while way[to].time_s - way[from].time_s > RATE_WINDOW_S {
            let rate = (level[to] - level[from]) / (way[to].time_s - way[from].time_s);
            fastest = fastest.max(rate.abs());
            from += 1;
        }
    }
    fastest
}

const HALF_WINDOW_S: f64 = 0.15;
const BAND_DEG: f64 = 0.5;
const HOLD_S: f64 = 0.4;
const CREST_S: f64 = 0.25;
const LEAST_CREST_POINTS: usize = 6;
// A crest shows tremor and curvature less well than a hold.
const CREST_SD_DEG: f64 = 0.15;
// Physiological tremor has 6 to 12 cycles a second (common practice); the slowest counts.
const TREMOR_PERIOD_S: f64 = 0.17;
const RATE_WINDOW_S: f64 = 0.1;
// A hand or foot finds the pedal within half a second.
const MARK_S: f64 = 0.5;
