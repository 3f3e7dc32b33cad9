//! One measurement against another: the change, its error, its limit, and what can be said.

use endarc_protocol::words::{Direction, Side};

use super::conditions::{Changed, Conditions, Looks, Primary};
use super::ends::{Ends, knees_apart};
use super::error::{ChangeError, two_sided};
use super::looks::{self, LEAST_REPETITIONS, MOST_REPETITIONS};
use super::loosening::{self, Loosening};
use super::more::{self, More, Standing};
use super::statement::{NoClaim, Told, statement};
use super::unseen::Unseen;
use crate::result::{Finding, Verdict};

/// A direction before and after.
pub(super) type Pair = (Direction, Ends, Ends);

/// Each direction and, where there are two, the total.
pub(super) fn all(conditions: &Conditions, side: Side, pairs: &[Pair]) -> Vec<Verdict> {
    let mut rows: Vec<Comparison<'_>> =
        pairs.iter().map(|pair| Comparison::of(conditions, side, pair, pairs)).collect();
    if let [one, two] = rows.as_slice() {
        rows.push(one.plus(two));
    }
    rows.iter().map(Comparison::verdict).collect()
}

struct Comparison<'a> {
    conditions: &'a Conditions,
    side: Side,
    direction: Option<Direction>,
    before: Ends,
    after: Ends,
    loosening: Option<Loosening>,
    unseen: Unseen,
    change_deg: Option<f64>,
    error: Option<ChangeError>,
}

impl<'a> Comparison<'a> {
    fn of(
        conditions: &'a Conditions,
        side: Side,
        (direction, before, after): &Pair,
        all: &[Pair],
    ) -> Self {
        let everything = all.iter().flat_map(|(_, before, after)| [before, after]);
        let others: Vec<&Ends> = everything.filter(|ends| !std::ptr::eq(*ends, before)).collect();
        let (loosening, before) = match loosening::find(before, &others) {
            Some((loosening, kept)) => (Some(loosening), kept),
            None => (None, before.clone()),
        };
        let after = match conditions.looks {
            Looks::Once => after.clone(),
            // Only so many looks are planned; what is beyond the last is not looked at.
            Looks::AfterEach => after.only(..MOST_REPETITIONS),
        };
        Self::between(conditions, side, Some(*direction), (before, after), loosening)
    }

    /// The total of two directions.
    fn plus(&self, other: &Self) -> Self {
        let ends = (self.before.plus(&other.before), self.after.plus(&other.after));
        let loosening = match (self.loosening, other.loosening) {
            (Some(one), Some(two)) => Some(one.with(two)),
            (one, two) => one.or(two),
        };
        Self::between(self.conditions, self.side, None, ends, loosening)
    }

    fn between(
        conditions: &'a Conditions,
        side: Side,
        direction: Option<Direction>,
        (before, after): (Ends, Ends),
        loosening: Option<Loosening>,
    ) -> Self {
        let unseen = Unseen::of(conditions, before.strap_moved || after.strap_moved);
        let unseen = if before.is_sum { unseen.twice() } else { unseen };
        let change_deg = before.mean_deg.zip(after.mean_deg).map(|(before, after)| after - before);
        let error = ChangeError::of(&before, &after, &unseen);
        Self { conditions, side, direction, before, after, loosening, unseen, change_deg, error }
    }

    fn verdict(&self) -> Verdict {
        let (finding, no_claim) = self.finding();
        let (limit_deg, possible_deg) = (self.limit_deg(), self.possible_deg());
        let looked = self.looked();
        let told = Told {
            finding,
            change_deg: self.change_deg,
            limit_deg,
            // The 90 % limit is that of one look.
            possible_deg: if looked { limit_deg } else { possible_deg },
            unseen: &self.unseen,
            counts: (self.before.count, self.after.count),
            no_claim,
            loosening: self.loosening,
            is_total: self.before.is_sum,
            looked,
        };
        let error = self.error.as_ref();
        Verdict {
            side: self.side,
            direction: self.direction,
            primary: self.conditions.primary
                == Some(Primary { side: self.side, direction: self.direction }),
            baseline_count: self.before.count,
            retest_count: self.after.count,
            baseline_mean_deg: self.before.mean_deg,
            retest_mean_deg: self.after.mean_deg,
            change_deg: self.change_deg,
            ci95_deg: self.interval(error.and_then(|error| error.half_width(0.95))),
            ci95_repetitions_deg: self.interval(error.and_then(|e| e.half_width_shown(0.95))),
            mdc95_deg: limit_deg,
            mdc90_deg: possible_deg,
            mdc95_source: told.source(),
            finding,
            statement: statement(&told),
            loosened_deg: self.loosening.map(|one| one.short_deg),
            more: self.more(no_claim),
        }
    }

    fn finding(&self) -> (Finding, Option<NoClaim>) {
        let exceeds = self.exceeds();
        let no_claim = self.no_claim().or_else(|| self.faked(exceeds));
        let enough =
            self.before.count >= LEAST_REPETITIONS && self.after.count >= LEAST_REPETITIONS;
        let finding = match (enough, no_claim, exceeds) {
            (false, ..) => Finding::NotEnough,
            (true, Some(_), _) => Finding::NoClaim,
            (true, None, true) => Finding::ExceedsError,
            (true, None, false) => Finding::WithinError,
        };
        (finding, no_claim)
    }

    fn exceeds(&self) -> bool {
        let limit = self.limit_with(self.error.as_ref(), self.after.count);
        limit.zip(self.change_deg).is_some_and(|(limit, change)| change.abs() > limit)
    }

    /// Why nothing may be claimed, whatever the change.
    fn no_claim(&self) -> Option<NoClaim> {
        let conditions = self.conditions;
        let differ = |changed, why| conditions.has(changed).then_some(why);
        differ(Changed::Rater, NoClaim::Rater)
            .or_else(|| differ(Changed::Position, NoClaim::Position))
            .or_else(|| differ(Changed::EndCriterion, NoClaim::EndCriterion))
            .or_else(|| knees_apart(&self.before, &self.after).map(NoClaim::Knee))
    }

    /// A baseline that fell short fakes a gain; a loss it could only hide.
    fn faked(&self, exceeds: bool) -> Option<NoClaim> {
        let gain = exceeds && self.change_deg.is_some_and(|change| change > 0.0);
        let short = self.loosening.filter(|one| gain && !one.left_out)?;
        Some(NoClaim::Loosened(short.short_deg))
    }

    fn looked(&self) -> bool {
        self.conditions.looks == Looks::AfterEach
    }

    /// What a change must exceed to be told from error; before the first look, at the first look.
    fn limit_deg(&self) -> f64 {
        let count = self.after.count.max(LEAST_REPETITIONS);
        self.limit_with(self.error.as_ref(), count).unwrap_or(self.unseen.floor_deg)
    }

    fn possible_deg(&self) -> f64 {
        self.limit_at(self.error.as_ref(), 0.90).unwrap_or(self.unseen.floor_deg)
    }

    /// The limit with an error after so many retest repetitions; `None` where no look is planned.
    fn limit_with(&self, error: Option<&ChangeError>, retest_count: usize) -> Option<f64> {
        self.limit_at(error, looks::confidence(self.conditions.looks, retest_count)?)
    }

    /// The larger of what the error allows and the floor, which is told at 95 %.
    fn limit_at(&self, error: Option<&ChangeError>, confidence: f64) -> Option<f64> {
        let z = |confidence| two_sided(confidence, f64::INFINITY);
        let floor = self.unseen.floor_deg * z(confidence)? / z(0.95)?;
        Some(error.and_then(|error| error.half_width(confidence)).map_or(floor, |h| h.max(floor)))
    }

    fn interval(&self, half: Option<f64>) -> Option<[f64; 2]> {
        self.change_deg.zip(half).map(|(change, half)| [change - half, change + half])
    }

    /// A total is not measured by repetitions of its own, and what may not be claimed no repetition
    /// settles.
    fn more(&self, no_claim: Option<NoClaim>) -> Option<More> {
        if self.before.is_sum || no_claim.is_some() {
            return None;
        }
        let now = Standing {
            before: self.before.count,
            after: self.after.count,
            change_deg: self.change_deg,
            error: self.error,
            floor_deg: self.unseen.floor_deg,
            stopped_by_pain: self.conditions.stopped_by_pain,
        };
        Some(more::more(&now, |error, count| self.limit_with(error, count)))
    }
}
