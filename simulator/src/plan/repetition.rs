//! One repetition, in each of its styles; and movements that are none.

use endarc_protocol::words::{Direction, Phase, Side};

use super::Planner;
use crate::motion::posture::Posture;
use crate::scenario::Style;
use crate::seed::Chance;
use crate::truth::TruthRepetition;

/// Mean speed of a slow repetition, degrees per second.
const SLOW_DEG_S: f64 = 2.0;
/// How far short of the end a limb stops that is pushed further afterwards, degrees.
const SHORT_DEG: (f64, f64) = (3.0, 6.0);
/// How far a limb gives while the person contracts against the hand, degrees.
pub(super) const GIVE_DEG: (f64, f64) = (2.0, 5.0);
/// How fast a fast repetition is where it is fastest, degrees per second.
const FAST_DEG_S: f64 = 90.0;
/// A minimum-jerk move's peak speed against its mean (Flash & Hogan 1985: 15/8).
const PEAK_SHARE: f64 = 1.875;
/// How far a repetition goes that only counts because it is marked, degrees.
const SMALL_DEG: (f64, f64) = (3.0, 7.0);
/// A hip that cannot go so far beyond neutral one way is stiff, and rests so far short of that end,
/// degrees.
const STIFF_DEG: f64 = 8.0;
const STIFF_WAY_DEG: f64 = 12.0;
/// How far a limb sags at most while it is held at its end, degrees.
const SAG_DEG: f64 = 0.2;
/// How the pelvis differs from one repetition to the next: standard deviation against its roll.
const ROLL_SPREAD: f64 = 0.1;

/// A leg on its way in one direction, with the pelvis that goes along.
#[derive(Debug, Clone, Copy)]
pub(super) struct Going {
    pub(super) side: Side,
    pub(super) direction: Direction,
    /// Pelvis roll per degree of hip rotation, this time.
    pub(super) roll_per_deg: f64,
}

impl Planner<'_> {
    /// Takes the limb to its end range and, unless it goes `onward` to the other end, back.
    pub(super) fn repetition(
        &mut self,
        side: Side,
        (phase, direction, style): (Phase, Direction, Style),
        onward: bool,
        chance: &mut Chance,
    ) -> TruthRepetition {
        let going = self.going(side, direction, chance);
        let body = &self.scenario.body;
        let mut end_deg =
            self.end_range_deg(side, direction) + chance.within_two_sd(body.repetition_sd_deg);
        let knee_deg = body.knee_flexion_deg + chance.within_two_sd(body.knee_spread_deg / 2.0);
        match style {
            Style::Marked => {
                let middle_deg = self.middle_deg(side) * direction.sign();
                let from_deg = self.limb(side).rotation_deg() * direction.sign();
                end_deg = from_deg.max(middle_deg) + chance.between(SMALL_DEG.0, SMALL_DEG.1);
            }
            Style::Drift => self.creep(going, end_deg, chance),
            _ => {}
        }
        let from_deg = self.limb(side).rotation_deg() * direction.sign();
        let start_s = self.now_s;

        let out_s = self.first_move_s(going, style, end_deg, chance);
        self.limb(side).bend(knee_deg, start_s, out_s);
        let start_barrier_deg = self.approach(going, style, end_deg, out_s, chance);
        let hold_start_s = self.now_s;
        let hold_s = match style {
            Style::Touch => 0.0,
            _ => chance.between(1.3, 2.8),
        };
        if hold_s > 0.0 {
            self.go(going, end_deg - chance.between(0.0, SAG_DEG), hold_s);
        }
        let marked_s =
            (style == Style::Marked).then(|| hold_start_s + chance.between(0.1, 0.9) * hold_s);
        if style == Style::OscillateAtEnd {
            self.work_to_and_fro(going, end_deg, chance);
        }
        let left_s = self.now_s;
        match style {
            _ if onward => {}
            Style::Drift => {
                let back_deg = from_deg + self.about_neutral_deg(direction, chance);
                self.return_to(going, back_deg, chance);
            }
            Style::Fast => self.go_fast(going, end_deg, chance),
            _ => self.return_to_neutral(going, chance),
        }
        let first_end_s = if matches!(style, Style::Deeper | Style::Contract) {
            start_s + out_s
        } else {
            hold_start_s
        };
        TruthRepetition {
            side,
            phase,
            direction,
            style,
            end_range_deg: end_deg,
            pelvis_roll_deg: going.roll_per_deg * end_deg,
            hold_start_s,
            hold_s,
            start_s,
            first_end_s,
            left_s,
            knee_flexion_deg: knee_deg,
            start_barrier_deg,
            marked_s,
        }
    }

    /// Small movements about the middle that mean nothing.
    pub(super) fn wander(&mut self, side: Side, direction: Direction, chance: &mut Chance) {
        let going = self.going(side, direction, chance);
        let middle_deg = self.middle_deg(side) * direction.sign();
        for _ in 0..5 {
            self.go(going, middle_deg + chance.between(-3.5, 3.5), chance.between(0.8, 2.0));
            self.now_s += chance.between(0.0, 0.8);
        }
        self.return_to_neutral(going, chance);
    }

    /// Everything up to the last arrival at the end range. Where the person pushes against the hand on
    /// the way: the angle at which they began to.
    fn approach(
        &mut self,
        going: Going,
        style: Style,
        end_deg: f64,
        out_s: f64,
        chance: &mut Chance,
    ) -> Option<f64> {
        match style {
            Style::Deeper => {
                self.go(going, end_deg - chance.between(SHORT_DEG.0, SHORT_DEG.1), out_s);
                self.now_s += chance.between(1.0, 1.6);
                self.go(going, end_deg, chance.between(0.9, 1.4));
                None
            }
            Style::Contract => {
                let stop_deg = end_deg - chance.between(SHORT_DEG.0, SHORT_DEG.1);
                self.go(going, stop_deg, out_s);
                self.now_s += chance.between(1.0, 1.5);
                self.contract(going, stop_deg, chance.between(4.0, 7.0), chance);
                self.go(going, end_deg, chance.between(2.0, 3.0));
                Some(stop_deg)
            }
            _ => {
                self.go(going, end_deg, out_s);
                None
            }
        }
    }

    /// The limb creeps away from where it rests, never so far that less than 8° of way are left.
    fn creep(&mut self, going: Going, end_deg: f64, chance: &mut Chance) {
        let by_deg = chance.between(3.0, 6.0);
        let middle_deg = self.middle_deg(going.side) * going.direction.sign();
        let room = middle_deg + by_deg + 8.0 < end_deg;
        let towards = room && chance.unit() < 0.5;
        let to_deg = middle_deg + if towards { by_deg } else { -by_deg };
        self.go(going, to_deg, chance.between(10.0, 16.0));
        self.now_s += chance.between(0.0, 1.0);
    }

    /// To and fro just short of the end, once or twice a second.
    fn work_to_and_fro(&mut self, going: Going, end_deg: f64, chance: &mut Chance) {
        let (swing_deg, half_s) = (chance.between(3.0, 6.0), chance.between(0.3, 0.6));
        for _ in 0..5 {
            self.go(going, end_deg - swing_deg, half_s);
            self.go(going, end_deg - chance.between(0.0, 0.5), half_s);
        }
    }

    fn go_fast(&mut self, going: Going, end_deg: f64, chance: &mut Chance) {
        let middle_deg = self.middle_deg(going.side) * going.direction.sign();
        let to_deg = middle_deg + chance.between(-1.5, 1.5);
        self.go(going, to_deg, fast_s(end_deg - to_deg));
        self.now_s += chance.between(0.7, 1.6);
    }

    /// The person pushes against the hand: the limb gives and is held there.
    pub(super) fn contract(
        &mut self,
        going: Going,
        from_deg: f64,
        duration_s: f64,
        chance: &mut Chance,
    ) {
        let given_deg = from_deg - chance.between(GIVE_DEG.0, GIVE_DEG.1);
        let give_s = (duration_s / 2.0).min(1.2);
        self.go(going, given_deg, give_s);
        self.now_s += duration_s - give_s;
    }

    /// Moves the hip, or for flexion the knee, to an angle along its direction, and time on with
    /// it.
    pub(super) fn go(&mut self, going: Going, along_deg: f64, duration_s: f64) {
        if going.direction == Direction::Flexion {
            let start_s = self.now_s;
            self.limb(going.side).bend(along_deg, start_s, duration_s);
            self.now_s += duration_s;
            return;
        }
        let rotation_deg = going.direction.sign() * along_deg;
        let roll_deg = going.roll_per_deg * rotation_deg;
        let start_s = self.now_s;
        self.limb(going.side).turn(rotation_deg, roll_deg, start_s, duration_s);
        self.now_s += duration_s;
    }

    /// Back to about the middle, and a moment's pause there.
    pub(super) fn return_to_neutral(&mut self, going: Going, chance: &mut Chance) {
        let middle_deg = self.middle_deg(going.side) * going.direction.sign();
        let neutral_deg = self.about_neutral_deg(going.direction, chance);
        self.return_to(going, middle_deg + neutral_deg, chance);
    }

    fn return_to(&mut self, going: Going, along_deg: f64, chance: &mut Chance) {
        self.go(going, along_deg, chance.between(1.6, 2.4));
        self.now_s += self.pause_at_neutral_s(chance);
    }

    /// Where the limb rests, degrees, internal positive: neutral, or for a stiff hip that cannot go 8°
    /// beyond neutral one way, as far the other way as leaves it 12° to go.
    pub(super) fn middle_deg(&self, side: Side) -> f64 {
        if self.posture() == Posture::Supine9090 {
            return 0.0;
        }
        let body = &self.scenario.body;
        let inward_deg = body.end_range_deg(side, Direction::Internal);
        let outward_deg = body.end_range_deg(side, Direction::External);
        if inward_deg < STIFF_DEG {
            inward_deg - STIFF_WAY_DEG
        } else if outward_deg < STIFF_DEG {
            STIFF_WAY_DEG - outward_deg
        } else {
            0.0
        }
    }

    /// A leg setting out.
    pub(super) fn going(&self, side: Side, direction: Direction, chance: &mut Chance) -> Going {
        let spread = 1.0 + chance.within_two_sd(ROLL_SPREAD);
        Going { side, direction, roll_per_deg: self.scenario.body.pelvis_roll_per_deg * spread }
    }

    /// Where the hip ends on average, degrees along the direction.
    pub(super) fn end_range_deg(&self, side: Side, direction: Direction) -> f64 {
        let body = &self.scenario.body;
        let treated = self.treated.contains(&side);
        let gain_deg = if treated { body.gain_deg(side, direction) } else { 0.0 };
        body.end_range_deg(side, direction) + gain_deg
    }

    /// How long the first move out takes: longer from the other end, and slow where it is meant to
    /// be.
    fn first_move_s(
        &mut self,
        going: Going,
        style: Style,
        end_deg: f64,
        chance: &mut Chance,
    ) -> f64 {
        let from_deg = self.limb(going.side).rotation_deg() * going.direction.sign();
        let way_deg = (end_deg - from_deg).abs();
        let usual_s = chance.between(1.7, 2.6);
        match style {
            Style::Slow => (way_deg / SLOW_DEG_S).max(usual_s),
            Style::Fast => fast_s(way_deg),
            _ if way_deg > 55.0 => usual_s + 0.6,
            _ => usual_s,
        }
    }
}

/// How long a fast move takes; a hand needs a third of a second for the shortest.
fn fast_s(way_deg: f64) -> f64 {
    (way_deg.abs() * PEAK_SHARE / FAST_DEG_S).max(0.35)
}
