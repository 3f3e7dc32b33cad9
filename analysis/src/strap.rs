//! Whether the strap kept its place: every lift of the foot is a knee bend, and shows the knee's axis
//! again.
//!
//! One lift shows the axis within about a degree, for the hip turns with it; so one look that is far
//! off, or two in a row that are off together, say that the strap moved. From then on the looks since
//! are the alignment.

use std::collections::VecDeque;

use nalgebra::{Unit, UnitQuaternion, Vector3};

use crate::alignment::{self, Alignment, BendSample};
use crate::follower::laid_down;
use crate::hip::{Posture, ShankAxes};
use crate::result::AlignmentKind;

/// The knee's axis as one lift of the foot, or laying it down, showed it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// When it was over, s.
    pub time_s: f64,
    /// The knee's axis (unit, sensor frame).
    pub knee: Unit<Vector3<f64>>,
}

/// Watches one leg for lifts.
#[derive(Debug, Clone, Default)]
pub struct Lifts {
    recent: VecDeque<Moment>,
    was_down: bool,
    was_up: bool,
}

#[derive(Debug, Clone, Copy)]
struct Moment {
    time_s: f64,
    attitude: UnitQuaternion<f64>,
    up: Vector3<f64>,
    knee_deg: f64,
}

impl Lifts {
    /// Takes the next moment of an aligned leg: attitude and vertical (unit, sensor frame).
    pub fn push(
        &mut self,
        time_s: f64,
        attitude: UnitQuaternion<f64>,
        up: Vector3<f64>,
        axes: &ShankAxes,
        posture: Posture,
    ) -> Option<Look> {
        let knee_deg = axes.knee_flexion(&up).to_degrees();
        self.recent.push_back(Moment { time_s, attitude, up, knee_deg });
        while self.recent.front().is_some_and(|first| time_s - first.time_s > LONGEST_LIFT_S) {
            self.recent.pop_front();
        }
        let up_now = knee_deg > UP_DEG;
        let down_now = laid_down(knee_deg);
        let lifted = up_now && std::mem::take(&mut self.was_down);
        let lowered = down_now && std::mem::take(&mut self.was_up);
        self.was_down |= down_now;
        self.was_up |= up_now;
        if !lifted && !lowered {
            return None;
        }
        let other_side = |moment: &Moment| {
            if lifted { moment.knee_deg < FLAT_DEG } else { moment.knee_deg > UP_DEG }
        };
        let from = self.recent.iter().rposition(other_side)?;
        let after = self.recent.iter().skip(from + 1);
        let bends: Vec<BendSample> =
            self.recent.iter().skip(from).zip(after).filter_map(bend).collect();
        let knee = alignment::from_lift(&bends, &axes.knee, posture)?;
        Some(Look { time_s, knee })
    }
}

/// What turned between two moments; nothing over a gap.
fn bend((before, after): (&Moment, &Moment)) -> Option<BendSample> {
    let step_s = after.time_s - before.time_s;
    (step_s > 0.0 && step_s < LONGEST_STEP_S).then(|| BendSample {
        rate: (before.attitude.inverse() * after.attitude).scaled_axis() / step_s,
        up: after.up,
    })
}

/// The strap has moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrapMoved {
    /// The last time at which it was where it had been, s: the end of the last good look.
    pub since_s: f64,
    /// The end of the first look at its new place, s.
    pub first_s: f64,
    /// When it was noticed, s.
    pub noticed_s: f64,
    /// How far the knee's axis moved, rad.
    pub by_rad: f64,
}

/// The alignment over time: what it began with, and what the lifts since say.
#[derive(Debug, Clone, PartialEq)]
pub struct Strap {
    base: Alignment,
    moved: bool,
    good_s: f64,
    knees: Vec<Unit<Vector3<f64>>>,
    doubted: Option<Look>,
}

impl Strap {
    /// A strap that sits as this alignment says.
    #[must_use]
    pub const fn new(base: Alignment) -> Self {
        Self { base, moved: false, good_s: f64::NEG_INFINITY, knees: Vec::new(), doubted: None }
    }

    /// The same strap with what it began with known better; once it has moved that says nothing.
    pub fn rebase(&mut self, base: Alignment) {
        if !self.moved {
            self.base = base;
        }
    }

    /// The alignment now.
    #[must_use]
    pub fn alignment(&self) -> Alignment {
        let own = self.base.uncertainty_rad.powi(-2);
        let each = LOOK_SD_RAD.powi(-2);
        let sum = self.knees.iter().fold(self.base.axes.knee.into_inner() * own, |sum, knee| {
            sum + knee.into_inner() * each
        });
        let Some(knee) = Unit::try_new(sum, 1e-9) else { return self.base };
        let weight = own + each * self.knees.len() as f64;
        let sd = weight.sqrt().recip().max(LEAST_SD_RAD.min(self.base.uncertainty_rad));
        // Several looks make a quick alignment one by knee bends.
        let kind = if self.knees.is_empty() { self.base.kind } else { AlignmentKind::KneeBends };
        Alignment {
            kind,
            axes: ShankAxes::new(knee, &self.base.axes.upright),
            uncertainty_rad: sd,
            ..self.base
        }
    }

    /// Takes one more look; says if it shows that the strap moved.
    pub fn look(&mut self, look: Look) -> Option<StrapMoved> {
        let now = self.alignment();
        let apart = |knee: &Unit<Vector3<f64>>| knee.angle(&now.axes.knee);
        let tolerance = MOVED_RAD.hypot(DOUBT_SHARE * now.uncertainty_rad);
        let far = tolerance + LOOK_SD_RAD * FAR_SHARE;
        let by = apart(&look.knee);
        let together = self.doubted.and_then(|doubted| {
            Unit::try_new(doubted.knee.into_inner() + look.knee.into_inner(), 1e-9)
        });
        let moved = match (together, self.doubted) {
            (Some(knee), Some(first)) if apart(&knee) > tolerance => Some((knee, 2.0, first)),
            _ if by > far => Some((look.knee, 1.0, look)),
            _ => None,
        };
        let Some((knee, count, first)) = moved else {
            if by > tolerance {
                self.doubted = Some(look);
                return None;
            }
            self.knees.extend(self.doubted.take().map(|doubted| doubted.knee));
            self.knees.push(look.knee);
            self.good_s = look.time_s;
            return None;
        };
        let since_s = self.good_s;
        let by_rad = apart(&knee);
        *self = Self::new(Alignment {
            kind: AlignmentKind::KneeBends,
            axes: ShankAxes::new(knee, &now.axes.upright),
            residual_rad: 0.0,
            uncertainty_rad: LOOK_SD_RAD / f64::sqrt(count),
        });
        (self.moved, self.good_s) = (true, look.time_s);
        Some(StrapMoved { since_s, first_s: first.time_s, noticed_s: look.time_s, by_rad })
    }
}

// The shank stands this far up where a lift is over, and lies this flat where it begins, degrees.
const UP_DEG: f64 = 75.0;
const FLAT_DEG: f64 = 10.0;
const LONGEST_LIFT_S: f64 = 6.0;
const LONGEST_STEP_S: f64 = 0.1;
// How well one lift shows the axis: the hip turns a little with it. On simulated visits half of the
// looks are within 0.8° of the axis and 95 % within 2.2°.
const LOOK_SD_RAD: f64 = 0.8_f64.to_radians();
const LEAST_SD_RAD: f64 = 0.25_f64.to_radians();
// A strap that moved by more is said to have moved.
const MOVED_RAD: f64 = 3.0_f64.to_radians();
// An alignment that is not known well may be off by so many of its standard uncertainties.
const DOUBT_SHARE: f64 = 2.0;
// One look alone must be this many of its own further off.
const FAR_SHARE: f64 = 2.0;

#[cfg(test)]
mod tests {
    use super::*;

    fn alignment(uncertainty_deg: f64) -> Alignment {
        Alignment {
            kind: AlignmentKind::KneeBends,
            axes: ShankAxes::new(Vector3::y_axis(), &-Vector3::z()),
            residual_rad: 0.0,
            uncertainty_rad: uncertainty_deg.to_radians(),
        }
    }

    fn look(time_s: f64, off_deg: f64) -> Look {
        let turn = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), off_deg.to_radians());
        Look { time_s, knee: turn * Vector3::y_axis() }
    }

    #[test]
    fn scatter_of_single_lifts_is_no_movement() {
        let mut strap = Strap::new(alignment(0.2));
        for (time_s, off_deg) in [(1.0, 1.5), (2.0, -2.0), (3.0, 3.4), (4.0, -0.5), (5.0, -2.6)] {
            assert_eq!(strap.look(look(time_s, off_deg)), None, "{off_deg}°");
        }
        assert!(strap.alignment().axes.knee.angle(&Vector3::y_axis()) < 0.3_f64.to_radians());
    }

    #[test]
    fn two_looks_that_agree_say_that_the_strap_moved() {
        let mut strap = Strap::new(alignment(0.2));
        assert_eq!(strap.look(look(10.0, 0.5)), None);
        assert_eq!(strap.look(look(20.0, 4.0)), None);
        let moved = strap.look(look(30.0, 5.0)).unwrap();
        assert_eq!((moved.since_s, moved.noticed_s), (10.0, 30.0));
        assert!((moved.by_rad.to_degrees() - 4.5).abs() < 0.1);
        assert!((strap.alignment().axes.knee.angle(&look(0.0, 4.5).knee)) < 0.1_f64.to_radians());
        assert!(strap.look(look(40.0, 12.0)).is_some(), "one that is far off is enough");
    }

    #[test]
    fn lifts_make_a_quick_alignment_good() {
        let mut strap = Strap::new(Alignment { kind: AlignmentKind::Quick, ..alignment(8.0) });
        for time_s in [1.0, 2.0, 3.0] {
            assert_eq!(strap.look(look(time_s, 9.0)), None);
        }
        let now = strap.alignment();
        assert!(now.axes.knee.angle(&look(0.0, 9.0).knee) < 0.1_f64.to_radians());
        assert!(now.uncertainty_rad < 0.6_f64.to_radians());
        assert_eq!(now.kind, AlignmentKind::KneeBends);
    }
}
