//! Preparing a leg by what the limb does: the knee is bent and straightened a few times, then the
//! shank is held upright. No key is needed.

use endarc_analysis::limb::LimbAngle;
use endarc_protocol::words::{Side, TrialType};

/// How often the knee is bent; common practice of our own: three looks at its axis.
const BENDS: u32 = 3;
/// The shank is up from here on, degrees from where it lay.
const UP_DEG: f64 = 60.0;
/// And down again below this.
const DOWN_DEG: f64 = 30.0;
/// A shank that is this far from where it lay is being lifted.
const LIFTS_DEG: f64 = 8.0;
/// Bends that are so much older than the first lift of the named leg are none, s.
const STALE_S: f64 = 5.0;
/// A shank that moves by less than this keeps still; a tremor of the hands stays below.
const STILL_DEG: f64 = 3.0;
/// So long it must keep still before the hold is taken for meant, s.
const MEANT_S: f64 = 0.6;
/// How long it is held, s: long enough for its mean to be good to a tenth of a degree.
const HOLD_S: f64 = 2.0;
/// The knee's flexion of an upright shank is about 90°; one below this was held lying.
const UPRIGHT_DEG: f64 = 50.0;

/// What comes of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Prepared {
    /// A span begins: the bends with the first lift, the hold once they are done.
    Begin(TrialType),
    /// The span ends here; after the hold, the leg is to be aligned.
    End,
    /// The other leg's sensor moves: the span ends, which shows whether the two are exchanged.
    OtherMoves,
}

/// How far the preparation of one leg has come.
#[derive(Debug, Clone)]
pub(super) struct Prepare {
    side: Side,
    named: Shank,
    other: Shank,
    /// Since when the knee is being bent.
    bends_since_s: Option<f64>,
    hold_since_s: Option<f64>,
    warned: bool,
}

/// One shank, by where its upward vertical points.
#[derive(Debug, Clone, Default)]
struct Shank {
    flat: Option<[f64; 3]>,
    resting: Option<([f64; 3], f64)>,
    raised: bool,
    bends: u32,
}

impl Prepare {
    pub(super) fn new(side: Side) -> Self {
        Self {
            side,
            named: Shank::default(),
            other: Shank::default(),
            bends_since_s: None,
            hold_since_s: None,
            warned: false,
        }
    }

    /// Once more, with what is known of how the legs lie.
    pub(super) fn anew(&self) -> Self {
        let lying = |shank: &Shank| Shank { flat: shank.flat, ..Shank::default() };
        Self { named: lying(&self.named), other: lying(&self.other), ..Self::new(self.side) }
    }

    /// Once more: at this sample the leg lies, as its alignment shows.
    pub(super) fn lifted_from_lying(&self, angle: &LimbAngle) -> Self {
        let mut anew = self.anew();
        anew.named.flat = Some(angle.up);
        anew
    }

    /// The leg that is prepared.
    pub(super) const fn side(&self) -> Side {
        self.side
    }

    /// Takes a leg at one sample.
    pub(super) fn push(&mut self, side: Side, angle: &LimbAngle) -> Option<Prepared> {
        if side != self.side {
            self.other.push(angle);
            if self.other.lifts(angle) && self.bends_since_s.is_none() {
                self.bends_since_s = Some(angle.time_s);
                return Some(Prepared::Begin(TrialType::AlignKnee));
            }
            let exchanged = self.other.bends >= 2 && self.named.bends == 0 && !self.warned;
            self.warned |= exchanged;
            return exchanged.then_some(Prepared::OtherMoves);
        }
        let still_s = self.named.push(angle);
        let stale = self.bends_since_s.is_none_or(|since_s| angle.time_s - since_s > STALE_S);
        if self.named.bends == 0 && self.named.lifts(angle) && stale {
            self.bends_since_s = Some(angle.time_s);
            return Some(Prepared::Begin(TrialType::AlignKnee));
        }
        let Some(since_s) = self.hold_since_s else {
            let meant = self.named.bends >= BENDS && self.named.raised && still_s >= MEANT_S;
            self.hold_since_s = meant.then_some(angle.time_s);
            return meant.then_some(Prepared::Begin(TrialType::Neutral));
        };
        if still_s < MEANT_S {
            // It moved: the hold is begun anew.
            self.hold_since_s = None;
            return Some(Prepared::End);
        }
        (angle.time_s - since_s >= HOLD_S).then_some(Prepared::End)
    }

    /// Whether the hold has lasted by this time.
    pub(super) fn held(&self, time_s: f64) -> bool {
        self.hold_since_s.is_some_and(|since_s| time_s - since_s >= HOLD_S)
    }

    /// How often the knee was bent, and how often it is to be.
    pub(super) fn bends(&self) -> (u32, u32) {
        (self.named.bends.min(BENDS), BENDS)
    }

    /// Whether the shank is being held upright.
    pub(super) const fn holds(&self) -> bool {
        self.hold_since_s.is_some()
    }

    /// Whether a knee that is flexed so far was held upright and not lying.
    pub(super) fn is_upright(knee_deg: Option<f64>) -> bool {
        knee_deg.is_none_or(|deg| deg > UPRIGHT_DEG)
    }
}

impl Shank {
    /// Whether it is no longer where it lay.
    fn lifts(&self, angle: &LimbAngle) -> bool {
        self.flat.is_some_and(|flat| between_deg(&flat, &angle.up) > LIFTS_DEG)
    }

    /// Takes where it points; for how long it has kept still, s.
    fn push(&mut self, angle: &LimbAngle) -> f64 {
        let flat = *self.flat.get_or_insert(angle.up);
        let lifted_deg = between_deg(&flat, &angle.up);
        if lifted_deg > UP_DEG && !self.raised {
            self.raised = true;
            self.bends += 1;
        } else if lifted_deg < DOWN_DEG {
            self.raised = false;
        }
        match self.resting {
            Some((up, since_s)) if between_deg(&up, &angle.up) < STILL_DEG => {
                angle.time_s - since_s
            }
            _ => {
                self.resting = Some((angle.up, angle.time_s));
                0.0
            }
        }
    }
}

/// The angle between two unit vectors, degrees.
fn between_deg(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    let dot: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
    dot.clamp(-1.0, 1.0).acos().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(time_s: f64, lifted_deg: f64) -> LimbAngle {
        let lifted = lifted_deg.to_radians();
        LimbAngle::unknown(time_s, 0.0, [lifted.sin(), 0.0, lifted.cos()])
    }

    /// Feeds a leg with where it points every 10 ms; gives what came of it and when.
    fn feed(
        prepare: &mut Prepare,
        side: Side,
        from_s: f64,
        for_s: f64,
        lifted_deg: impl Fn(f64) -> f64,
    ) -> Vec<(f64, Prepared)> {
        let mut told = Vec::new();
        let mut t = 0.0;
        while t < for_s {
            let time_s = from_s + t;
            told.extend(prepare.push(side, &at(time_s, lifted_deg(t))).map(|one| (time_s, one)));
            t += 0.01;
        }
        told
    }

    /// Bent and straightened every two seconds, from the flat leg.
    fn bending(t: f64) -> f64 {
        45.0 * (1.0 - (std::f64::consts::PI * t).cos())
    }

    #[test]
    fn three_bends_and_a_still_hold_prepare_a_leg_without_a_key() {
        let mut prepare = Prepare::new(Side::Right);
        // Ends bent.
        // However long the leg lay before: what is recorded begins with the first lift.
        assert_eq!(feed(&mut prepare, Side::Right, -90.0, 90.0, |_| 0.0), []);
        let told = feed(&mut prepare, Side::Right, 0.0, 5.0, bending);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0].1, Prepared::Begin(TrialType::AlignKnee));
        assert!((0.0..0.5).contains(&told[0].0));
        assert_eq!(prepare.bends(), (3, 3));
        let tremor = |t: f64| 90.0 + 0.3 * (40.0 * t).sin();
        let told = feed(&mut prepare, Side::Right, 5.0, 2.7, tremor);
        assert_eq!(told[0].1, Prepared::Begin(TrialType::Neutral));
        assert_eq!(told[1].1, Prepared::End);
        assert!(prepare.held(told[1].0) && told[1].0 - told[0].0 >= HOLD_S);
    }

    #[test]
    fn a_hold_that_is_broken_begins_anew() {
        let mut prepare = Prepare::new(Side::Right);
        feed(&mut prepare, Side::Right, 0.0, 5.0, bending);
        let told = feed(&mut prepare, Side::Right, 5.0, 2.0, |t| 90.0 + 10.0 * (t - 1.0).max(0.0));
        assert_eq!(told.len(), 2, "{told:?}");
        assert_eq!(told[1].1, Prepared::End);
        assert!(!prepare.held(told[1].0));
    }

    #[test]
    fn a_leg_that_lies_is_not_held_upright() {
        let mut prepare = Prepare::new(Side::Right);
        feed(&mut prepare, Side::Right, 0.0, 6.0, bending);
        assert_eq!(feed(&mut prepare, Side::Right, 6.0, 10.0, |_| 2.0), []);
    }

    #[test]
    fn done_once_more_it_knows_how_the_leg_lies() {
        let mut prepare = Prepare::new(Side::Right);
        feed(&mut prepare, Side::Right, 0.0, 7.0, |t| if t < 5.0 { bending(t) } else { 90.0 });
        // The leg is still up when it begins anew.
        let mut prepare = prepare.anew();
        feed(&mut prepare, Side::Right, 7.0, 1.0, |_| 90.0);
        feed(&mut prepare, Side::Right, 8.0, 5.0, |t| bending(t + 1.0));
        let told = feed(&mut prepare, Side::Right, 13.0, 10.0, |_| 0.0);
        assert_eq!(told, [], "a leg that lies is not held upright");
    }

    #[test]
    fn the_other_leg_that_moves_instead_is_noticed_once() {
        let mut prepare = Prepare::new(Side::Right);
        let told = feed(&mut prepare, Side::Left, 0.0, 8.0, bending);
        let told: Vec<_> = told.into_iter().map(|(_, one)| one).collect();
        assert_eq!(told, [Prepared::Begin(TrialType::AlignKnee), Prepared::OtherMoves]);
        let mut prepare = Prepare::new(Side::Right);
        feed(&mut prepare, Side::Right, 0.0, 2.0, bending);
        assert_eq!(feed(&mut prepare, Side::Left, 2.0, 8.0, bending), []);
    }
}
