//! A strap that slips: the sensor turns on the shank, and stays so.

use super::chain::{Axis, Felt};
use super::track::Track;

/// How long the strap slips, s: it gives with a jerk.
pub(crate) const SLIP_S: f64 = 0.4;

/// One slip: turns about the shank's axes, in this order.
#[derive(Debug, Clone)]
struct Slip {
    along: Track,
    across: Track,
    about: Track,
}

/// Every slip of one strap, in order of time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Strap(Vec<Slip>);

impl Strap {
    /// Slips at a time by so many degrees about the shank's long axis (towards the knee), its
    /// forward axis and the axis to the person's left, right-handed.
    pub(crate) fn slip(&mut self, start_s: f64, along_deg: f64, across_deg: f64, about_deg: f64) {
        let track = |to_deg| {
            let mut track = Track::standing(0.0);
            track.move_to(to_deg, start_s, SLIP_S);
            track
        };
        self.0.push(Slip {
            along: track(along_deg),
            across: track(across_deg),
            about: track(about_deg),
        });
    }

    /// What the sensor feels on the slipped strap, from what it would feel on one that held.
    pub(crate) fn felt(&self, held: Felt, time_s: f64) -> Felt {
        let radians = std::f64::consts::PI / 180.0;
        // Each slip is about the shank's axes, wherever the sensor was by then: the last comes
        // first on the way from the shank to the sensor.
        self.0.iter().rev().fold(held, |felt, slip| {
            felt.turned(Axis::Z, slip.along.at(time_s) * radians)
                .turned(Axis::X, slip.across.at(time_s) * radians)
                .turned(Axis::Y, slip.about.at(time_s) * radians)
        })
    }
}
