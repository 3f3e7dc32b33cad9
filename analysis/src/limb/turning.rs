//! The heading's zero, live: rests at neutral that came before the leg was aligned are kept until
//! its axes are known.

use nalgebra::UnitQuaternion;

use crate::heading::{Holding, Turn, Turned};
use crate::leg::Leg;

/// The shank's turning about the vertical since its last rest at neutral.
#[derive(Debug, Default)]
pub(super) struct Turning {
    turn: Turn,
    backlog: Vec<(f64, UnitQuaternion<f64>)>,
}

impl Turning {
    /// A moment before the leg is aligned; only a neutral hold counts.
    pub(super) fn wait(&mut self, time_s: f64, attitude: UnitQuaternion<f64>, holding: Holding) {
        if holding == Holding::Neutral && self.backlog.len() < MOST_MOMENTS {
            self.backlog.push((time_s, attitude));
        }
    }

    /// A moment of an aligned leg; `None` where its test does not need the heading, or has no zero.
    pub(super) fn turned(
        &mut self,
        leg: &Leg,
        time_s: f64,
        attitude: &UnitQuaternion<f64>,
        holding: Holding,
    ) -> Option<Turned> {
        for (time_s, attitude) in self.backlog.drain(..) {
            self.turn.push(time_s, leg.heading(&attitude)?, Holding::Neutral);
        }
        self.turn.push(time_s, leg.heading(attitude)?, holding)
    }
}

// A minute of neutral at 200 Hz.
const MOST_MOMENTS: usize = 12_000;
