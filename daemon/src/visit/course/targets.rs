//! Which sides and directions are measured, how often, and in which order where chance decides.

use endarc_protocol::words::{Direction, Side, TestKind};

use super::answer::{Plan, Way};

/// What a phase is to come to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Targets {
    ways: Vec<Way>,
    repetitions: usize,
    warm_up: usize,
    /// The order of single repetitions, where chance decides.
    order: Option<Vec<Way>>,
}

/// How many repetitions of a side and direction are kept in the present phase.
pub(in crate::visit) trait Counted: Fn(Side, Direction) -> usize {}
impl<F: Fn(Side, Direction) -> usize> Counted for F {}

impl Targets {
    /// What a plan comes to for the legs that wear a sensor; nothing that is barred is among it.
    pub(super) fn new(
        test: TestKind,
        worn: &[Side],
        barred: &[Way],
        plan: &Plan,
        seed: u64,
    ) -> Self {
        let all = worn.iter().flat_map(|&side| {
            test.directions().iter().map(move |&direction| Way { side, direction })
        });
        let wanted = |way: &Way| {
            !barred.contains(way) && (!plan.short || way.direction == plan.primary.direction)
        };
        let ways: Vec<Way> = all.filter(wanted).collect();
        let repetitions = usize::from(plan.repetitions);
        let order = plan.by_chance.then(|| shuffled(&ways, repetitions, seed));
        Self { ways, repetitions, warm_up: usize::from(plan.warm_up), order }
    }

    /// Each side and direction, and how often it is wanted.
    pub(super) fn wanted(&self) -> impl Iterator<Item = (Way, usize)> {
        self.ways.iter().map(|&way| (way, self.repetitions))
    }

    /// Movements of each side and direction that are not counted.
    pub(super) const fn warm_up(&self) -> usize {
        self.warm_up
    }

    /// How many repetitions are left.
    pub(super) fn left(&self, counted: impl Counted) -> usize {
        let left = |way: &Way| self.repetitions.saturating_sub(counted(way.side, way.direction));
        self.ways.iter().map(left).sum()
    }

    /// The side and direction that chance asks for next.
    pub(super) fn next(&self, counted: impl Counted) -> Option<Way> {
        let mut seen: Vec<Way> = Vec::new();
        self.order.as_ref()?.iter().copied().find(|way| {
            seen.push(*way);
            let so_far = seen.iter().filter(|one| *one == way).count();
            counted(way.side, way.direction) < so_far
        })
    }
}

/// Every repetition once, in an order by chance: rounds, so that no side and direction comes much
/// earlier than another; the seed gives the same order every time.
fn shuffled(ways: &[Way], repetitions: usize, seed: u64) -> Vec<Way> {
    let mut state = seed;
    let mut order = Vec::new();
    for _ in 0..repetitions {
        let mut round: Vec<(u64, Way)> =
            ways.iter().map(|&way| (split_mix(&mut state), way)).collect();
        round.sort_by_key(|(chance, _)| *chance);
        order.extend(round.into_iter().map(|(_, way)| way));
    }
    order
}

/// Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators" (`SplitMix64`).
const fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (*state ^ (*state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use endarc_protocol::words::EndCriterion;

    use super::*;

    fn plan() -> Plan {
        Plan {
            end_criterion: EndCriterion::FirstResistance,
            primary: Way { side: Side::Right, direction: Direction::Internal },
            repetitions: 3,
            warm_up: 1,
            by_chance: false,
            short: false,
        }
    }

    fn targets(plan: &Plan, barred: &[Way]) -> Targets {
        Targets::new(TestKind::ProneHipRotation, Side::ALL, barred, plan, 7)
    }

    #[test]
    fn a_barred_direction_is_no_target_and_a_short_plan_has_one_direction() {
        let barred = Way { side: Side::Left, direction: Direction::Internal };
        let full = targets(&plan(), &[barred]);
        assert_eq!(full.wanted().count(), 3);
        assert!(full.wanted().all(|(way, _)| way != barred));
        assert_eq!(full.left(|_, _| 1), 6);
        let short = targets(&Plan { short: true, ..plan() }, &[]);
        assert_eq!(short.left(|_, _| 0), 6);
        assert!(short.wanted().all(|(way, _)| way.direction == Direction::Internal));
    }

    #[test]
    fn chance_asks_for_each_repetition_once_and_the_same_every_time() {
        let by_chance = Plan { by_chance: true, ..plan() };
        let targets = targets(&by_chance, &[]);
        let mut done: Vec<Way> = Vec::new();
        let counted = |done: &[Way], side, direction| {
            done.iter().filter(|way| **way == Way { side, direction }).count()
        };
        while let Some(way) = targets.next(|side, direction| counted(&done, side, direction)) {
            done.push(way);
        }
        assert_eq!(done.len(), 12);
        assert_eq!(targets.left(|side, direction| counted(&done, side, direction)), 0);
        // Each round of four has each of the four once.
        for round in done.chunks(4) {
            assert!(round.iter().all(|way| round.iter().filter(|one| *one == way).count() == 1));
        }
        let again = self::targets(&by_chance, &[]);
        assert_eq!(again, targets);
        assert!(shuffled(&done[..4], 3, 1) != shuffled(&done[..4], 3, 2));
    }
}
