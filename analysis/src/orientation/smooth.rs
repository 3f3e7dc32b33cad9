//! The offline smoother: the same idea with the whole recording at hand.
//!
//! The low-pass of gravity runs forwards and then backwards over the integrated frame, so that it
//! lags nowhere and a constant drift cancels out. Where too many samples are missing, the recording
//! is taken apart: an attitude must not be carried over a hole in which it may have changed.

use endarc_protocol::sample::Sample;
use nalgebra::{UnitQuaternion, Vector3};

use super::Orientation;
use super::inertial::Inertial;
use super::leveller::Leveller;
use super::live::LiveFilter;
use super::lowpass::{BUTTERWORTH_DAMPING, LowPass};
use super::noise::{FLOOR_RAD, LONGEST_STEP_S, mean_noise_rad};

/// Orientation at each sample, from all of them. One result per sample; a rejected sample repeats
/// the orientation before it.
#[must_use]
pub fn smooth(samples: &[Sample]) -> Vec<Orientation> {
    let mut live = LiveFilter::new();
    for sample in samples {
        let _first_pass_only_learns_the_bias = live.push(sample);
    }
    let mut inertial = Inertial::with_bias(live.bias().clone());
    let mut tracks: Vec<Option<Track>> = Vec::with_capacity(samples.len());
    for sample in samples {
        let moved = inertial.advance(sample).ok();
        if moved.as_ref().is_some_and(|moved| moved.completes_block) {
            let _integrated_with_from_now_on = inertial.learn_rest();
        }
        tracks.push(moved.map(|moved| Track {
            attitude: *inertial.attitude(),
            force: moved.force,
            gravity: Vector3::zeros(),
            residual_square: 0.0,
            interval_s: moved.interval_s,
            taken_apart: moved.lost_sd_rad > APART_RAD,
        }));
    }
    let mut accepted: Vec<&mut Track> = tracks.iter_mut().flatten().collect();
    for piece in accepted.chunk_by_mut(|_, next| !next.taken_apart) {
        filter_both_ways(piece);
    }
    level_all(&tracks)
}

/// One accepted sample in the integrated frame.
#[derive(Debug, Clone)]
struct Track {
    attitude: UnitQuaternion<f64>,
    force: Vector3<f64>,
    gravity: Vector3<f64>,
    residual_square: f64,
    interval_s: f64,
    taken_apart: bool,
}

fn filter_both_ways(piece: &mut [&mut Track]) {
    let mut forwards = LowPass::new(BUTTERWORTH_DAMPING);
    for track in piece.iter_mut() {
        forwards.step(&track.force, track.interval_s.min(LONGEST_STEP_S), TIME_CONSTANT_S);
        track.gravity = *forwards.value();
    }
    let mut backwards = LowPass::new(BUTTERWORTH_DAMPING);
    let mut interval_s = piece.last().map_or(0.0, |track| track.interval_s);
    let mut residual_square = 0.0;
    for track in piece.iter_mut().rev() {
        backwards.step(&track.gravity, interval_s.min(LONGEST_STEP_S), TIME_CONSTANT_S);
        track.gravity = *backwards.value();
        let rest = track.force - track.gravity;
        residual_square +=
            (rest.norm_squared() - residual_square) * (interval_s / RESIDUAL_S).min(1.0);
        track.residual_square = residual_square;
        interval_s = track.interval_s;
    }
}

fn level_all(tracks: &[Option<Track>]) -> Vec<Orientation> {
    let mut leveller = Leveller::default();
    let mut last = Orientation::unknown();
    tracks
        .iter()
        .map(|track| {
            if let Some(track) = track {
                leveller.level(&track.gravity);
                let rotation = leveller.to_earth() * track.attitude;
                let noise = mean_noise_rad(track.residual_square.sqrt(), SPAN_S);
                last = Orientation::from_parts(&rotation, FLOOR_RAD.hypot(noise));
            } else {
                last.accepted = false;
            }
            last
        })
        .collect()
}

/// Time constant of the low-pass, each way, s.
const TIME_CONSTANT_S: f64 = 3.5;
// What both ways together average over, s.
const SPAN_S: f64 = 4.0;
const RESIDUAL_S: f64 = 1.0;
// A gap that may have cost more than this takes the recording apart.
const APART_RAD: f64 = 6.0_f64.to_radians();
