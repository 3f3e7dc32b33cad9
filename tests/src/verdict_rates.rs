//! How often verdicts on many simulated visits are right.

use std::num::NonZeroUsize;

use endarc_analysis::result::{Finding, Verdict};
use endarc_analysis::statistics::Sem;
use endarc_analysis::verdict::{
    Conditions, Covers, Looks, More, Primary, ReliabilityStudy, verdicts_under,
};
use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use crate::chance::Chance;
use crate::repeated_visit::{Hands, RepeatedVisit, repeated_visit};

/// The test of all simulated visits.
pub const TEST: TestKind = TestKind::ProneHipRotation;

/// The leg of those with one.
pub const SIDE: Side = Side::Right;

/// The measure that is named before.
pub const PRIMARY: Primary = Primary { side: SIDE, direction: Some(Direction::Internal) };

/// What assumed shifts a visit is built on: the standard deviation that [`endarc_analysis::verdict`] takes
/// an unmoved strap's floor of 6° to stand for, from √(((6/1.96)² − 2·2²/3)/2).
pub const ASSUMED_SHIFT_DEG: f64 = 1.831;

/// The same where the strap moved, 9°.
pub const ASSUMED_SHIFT_MOVED_DEG: f64 = 3.035;

/// Shares of visits, 0 to 1.
#[derive(Debug, Clone, Copy, Default)]
pub struct Rates {
    /// The primary measure exceeds its limit.
    pub exceeds: f64,
    /// Any of the three of the leg does.
    pub any_exceeds: f64,
    /// A claim is refused, or a warm-up asked for.
    pub warm_up: f64,
    /// The whole interval holds the hip's gain.
    pub covers: f64,
    /// The repetitions' interval holds what the hands took.
    pub repetitions_cover: f64,
    /// More repetitions are asked for.
    pub asks: f64,
    /// Mean limit, degrees.
    pub limit_deg: f64,
}

/// Of so many seeded visits.
#[must_use]
pub fn rates(hands: &Hands, visits: u64) -> Rates {
    rates_under(&Conditions { primary: Some(PRIMARY), ..Conditions::default() }, hands, visits)
}

/// Of so many seeded visits under these conditions.
#[must_use]
pub fn rates_under(conditions: &Conditions, hands: &Hands, visits: u64) -> Rates {
    let mut sums = Rates::default();
    for seed in 0..visits {
        let visit = repeated_visit(SIDE, hands, &mut Chance::seeded(seed));
        let found = verdicts_under(conditions, SIDE, TEST, &visit.repetitions);
        sums.add(&found, &visit, hands);
    }
    sums.over(visits as f64)
}

impl Rates {
    fn add(&mut self, verdicts: &[Verdict], visit: &RepeatedVisit, hands: &Hands) {
        let holds = |interval: Option<[f64; 2]>, value: f64| {
            share(interval.is_some_and(|[low, high]| (low..=high).contains(&value)))
        };
        let primary = verdicts.iter().find(|verdict| verdict.primary).expect("the primary one");
        let exceeds = |verdict: &Verdict| verdict.finding == Finding::ExceedsError;
        self.exceeds += share(exceeds(primary));
        self.any_exceeds += share(verdicts.iter().any(exceeds));
        self.warm_up += share(primary.loosened_deg.is_some());
        self.covers += holds(primary.ci95_deg, hands.gain_deg);
        self.repetitions_cover += holds(primary.ci95_repetitions_deg, visit.taken_deg);
        self.asks += share(matches!(primary.more, Some(More::Repetitions(_))));
        self.limit_deg += primary.mdc95_deg;
    }

    fn over(self, visits: f64) -> Self {
        Self {
            exceeds: self.exceeds / visits,
            any_exceeds: self.any_exceeds / visits,
            warm_up: self.warm_up / visits,
            covers: self.covers / visits,
            repetitions_cover: self.repetitions_cover / visits,
            asks: self.asks / visits,
            limit_deg: self.limit_deg / visits,
        }
    }
}

/// Share of visits in which the primary measure exceeds its limit at some look, where it is looked at
/// after each of six retest repetitions and the first that exceeds ends it.
#[must_use]
pub fn exceeds_at_some_look(conditions: &Conditions, hands: &Hands, visits: u64) -> f64 {
    let conditions = Conditions { primary: Some(PRIMARY), ..conditions.clone() };
    let hands = Hands { counts: &[6], ..*hands };
    let claimed = (0..visits).filter(|seed| {
        let all = repeated_visit(SIDE, &hands, &mut Chance::seeded(*seed)).repetitions;
        (3..=6).any(|count| {
            // Three before; after each one more until there are six.
            let mut seen = [0, 0];
            let shown: Vec<_> = all
                .iter()
                .filter(|one| one.direction == Direction::Internal)
                .filter(|one| {
                    let (place, most) =
                        if one.phase == Phase::Baseline { (0, 3) } else { (1, count) };
                    seen[place] += 1;
                    seen[place] <= most
                })
                .cloned()
                .collect();
            let found = verdicts_under(&conditions, SIDE, TEST, &shown);
            found.iter().any(|one| one.primary && one.finding == Finding::ExceedsError)
        })
    });
    claimed.count() as f64 / visits as f64
}

/// Looking once, or after each, against the assumed floor.
#[must_use]
pub fn looking(looks: Looks) -> Conditions {
    Conditions { looks, ..Conditions::default() }
}

/// The same against a study that found exactly these hands' error in many persons: nothing but the looks
/// is in the way of a false claim.
///
/// # Panics
/// When the hands have no error at all.
#[must_use]
pub fn looking_with_study(looks: Looks, hands: &Hands) -> Conditions {
    let three = NonZeroUsize::new(3).expect("three");
    let scatter = Sem::new(hands.scatter_deg.0).expect("a scatter");
    let sem = hands.end_shift_deg.hypot(scatter.of_mean(three).value());
    let error = (Sem::new(sem).expect("an error"), 1000.0);
    let study = ReliabilityStudy::new("simulated", Covers::SameStrap, error, (three, scatter));
    Conditions { study: Some(study.expect("a study")), ..looking(looks) }
}

fn share(is: bool) -> f64 {
    f64::from(u8::from(is))
}
