//! One leg over a whole recording: as aligned, and anew wherever the strap moved.

use crate::hip;
use crate::leg::Leg;
use crate::strap::{Lifts, Strap};
use crate::track::Track;

/// The leg from one time to the next.
#[derive(Debug)]
pub(super) struct Legs {
    first: Leg,
    later: Vec<(f64, Leg)>,
}

impl Legs {
    /// From the leg as it was aligned, and every lift of the recording.
    pub(super) fn of(leg: Leg, shank: &Track) -> Self {
        let posture = hip::posture(leg.test);
        let mut legs = Self { first: leg, later: Vec::new() };
        let (mut strap, mut lifts) = (Strap::new(legs.first.alignment), Lifts::default());
        for (sample, orientation) in shank.samples.iter().zip(&shank.orientations) {
            if !orientation.accepted {
                continue;
            }
            let axes = strap.alignment().axes;
            let (attitude, up) = (orientation.attitude(), orientation.up());
            let Some(look) = lifts.push(sample.time_s, attitude, up, &axes, posture) else {
                continue;
            };
            let before = strap.alignment();
            if let Some(moved) = strap.look(look) {
                let last = legs.last();
                last.alignment = before;
                last.strap_moved_since_s.get_or_insert(moved.since_s);
                let anew = last.clone();
                legs.later.push((moved.first_s, anew));
            }
        }
        legs.last().alignment = strap.alignment();
        legs
    }

    /// The leg as the recording begins.
    pub(super) const fn first(&self) -> &Leg {
        &self.first
    }

    /// The leg at a time.
    pub(super) fn at(&self, time_s: f64) -> &Leg {
        let later = self.later.partition_point(|(from_s, _)| *from_s <= time_s);
        later.checked_sub(1).and_then(|place| self.later.get(place)).map_or(&self.first, |l| &l.1)
    }

    fn last(&mut self) -> &mut Leg {
        self.later.last_mut().map_or(&mut self.first, |(_, leg)| leg)
    }
}
