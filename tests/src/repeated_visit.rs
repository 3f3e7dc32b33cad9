//! Visits as repetition values alone: what a therapist's hands and an instrument make of a hip.
//!
//! The instrument's part is that of 300 visits from raw signals (`cargo bench -p endarc-tests --bench
//! verdicts -- --signals 300`): an offset of one direction that stays for the visit (standard deviation
//! 0.21°) and an error of each repetition (0.08°). Everything else is the hands', and far larger.

use endarc_analysis::result::{Flag, Repetition};
use endarc_protocol::words::{Direction, Phase, Side};

use crate::chance::Chance;

/// What a simulated visit is made of, degrees.
#[derive(Debug, Clone, Copy)]
pub struct Hands {
    /// How single repetitions scatter: anything between these (uniform in the logarithm).
    pub scatter_deg: (f64, f64),
    /// Repetitions of each direction and phase: any of these.
    pub counts: &'static [usize],
    /// By how much all repetitions of a direction and phase are shifted together: the end is decided anew
    /// for each (one standard deviation).
    pub end_shift_deg: f64,
    /// By how much the strap sits elsewhere in a phase: internal and external are shifted against each
    /// other (one standard deviation).
    pub strap_shift_deg: f64,
    /// Whether the strap is known to have moved.
    pub strap_moved: bool,
    /// By how much the very first repetition of a direction falls short; each later one by 0.3 of
    /// the one before.
    pub creep_deg: f64,
    /// What the hip really gained between the phases.
    pub gain_deg: f64,
}

impl Hands {
    /// Usual hands on a hip that does not change, with no shift at all.
    pub const USUAL: Self = Self {
        scatter_deg: (0.5, 3.0),
        counts: &[3, 4, 5, 6],
        end_shift_deg: 0.0,
        strap_shift_deg: 0.0,
        strap_moved: false,
        creep_deg: 0.0,
        gain_deg: 0.0,
    };
}

/// A visit of one leg.
#[derive(Debug, Clone)]
pub struct RepeatedVisit {
    /// Its repetitions, both directions, both phases.
    pub repetitions: Vec<Repetition>,
    /// What internal rotation changed by, as these hands took it: the hip's gain and the shifts, without
    /// scatter and creep, degrees.
    pub taken_deg: f64,
}

/// A visit of this leg by chance.
pub fn repeated_visit(side: Side, hands: &Hands, chance: &mut Chance) -> RepeatedVisit {
    let scatter_deg = chance.about(hands.scatter_deg.0, hands.scatter_deg.1);
    let count = chance.pick(hands.counts);
    let strap =
        [Phase::Baseline, Phase::Retest].map(|phase| (phase, chance.normal(hands.strap_shift_deg)));
    let mut visit = RepeatedVisit { repetitions: Vec::new(), taken_deg: 0.0 };
    for direction in [Direction::Internal, Direction::External] {
        let hip = chance.between(15.0, 45.0) + chance.normal(OFFSET_DEG);
        for (phase, strap) in strap {
            let after = phase == Phase::Retest;
            let gain = if after { hands.gain_deg } else { 0.0 };
            let shift = gain + chance.normal(hands.end_shift_deg) + strap * direction.sign();
            if direction == Direction::Internal {
                visit.taken_deg += if after { shift } else { -shift };
            }
            for number in 0..count {
                // What has crept stays so for the visit.
                let short = if after { 0.0 } else { hands.creep_deg * 0.3_f64.powi(number as i32) };
                let error = chance.normal(scatter_deg) + chance.normal(REPETITION_DEG);
                let end_range_deg = hip + shift - short + error;
                visit.repetitions.push(repetition(side, direction, phase, end_range_deg, hands));
            }
        }
    }
    visit
}

fn repetition(
    side: Side,
    direction: Direction,
    phase: Phase,
    end_range_deg: f64,
    hands: &Hands,
) -> Repetition {
    let moved = hands.strap_moved && phase == Phase::Retest;
    Repetition {
        side,
        phase,
        direction,
        end_range_deg,
        uncertainty_deg: 0.25,
        start_s: 0.0,
        end_range_at_s: 2.0,
        hold_s: 1.0,
        knee_flexion_deg: Some(90.0),
        pelvis_roll_deg: None,
        barriers: None,
        flags: if moved { vec![Flag::StrapMoved] } else { Vec::new() },
    }
}

const OFFSET_DEG: f64 = 0.21;
const REPETITION_DEG: f64 = 0.08;
