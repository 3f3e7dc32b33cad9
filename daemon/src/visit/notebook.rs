//! The repetitions of the visit: captured first, shown once they are on disk.

use endarc_analysis::result::{Repetition, Verdict};
use endarc_analysis::verdict::{Conditions, Looks, verdicts_under};
use endarc_protocol::words::{Direction, Phase, Side, TestKind};

use super::counsel::Standing;
use super::event::{Kept, RepetitionKey};
use crate::live::{LiveChange, LiveRepetition};

/// One captured repetition.
#[derive(Debug, Clone)]
struct Entry {
    key: RepetitionKey,
    repetition: Repetition,
    /// Its id in the store; `None` until it is synced to disk.
    id: Option<String>,
}

/// The repetitions in the order of their capture, and what they come to.
#[derive(Debug, Clone)]
pub(super) struct Notebook {
    test: TestKind,
    conditions: Conditions,
    entries: Vec<Entry>,
    changes: Vec<LiveChange>,
    standings: Vec<Standing>,
}

impl Notebook {
    /// An empty notebook for repetitions of a test whose comparisons are looked at so often.
    pub(super) fn new(test: TestKind, looks: Looks) -> Self {
        let conditions = Conditions { looks, ..Conditions::default() };
        Self { test, conditions, entries: Vec::new(), changes: Vec::new(), standings: Vec::new() }
    }

    /// How often its comparisons are looked at.
    pub(super) const fn looks(&self) -> Looks {
        self.conditions.looks
    }

    /// The person stopped for pain: no more repetitions are asked for.
    pub(super) fn stop_for_pain(&mut self) {
        self.conditions.stopped_by_pain = true;
        self.compare();
    }

    /// Whether the person stopped for pain.
    pub(super) const fn stopped_for_pain(&self) -> bool {
        self.conditions.stopped_by_pain
    }

    /// How each comparison of one direction stands.
    pub(super) fn standings(&self) -> &[Standing] {
        &self.standings
    }

    /// Takes a captured repetition. It is not shown yet.
    pub(super) fn captured(&mut self, key: RepetitionKey, repetition: Repetition) {
        self.entries.push(Entry { key, repetition, id: None });
    }

    /// Puts a repetition's value right; `false` when there is no such repetition.
    pub(super) fn refined(&mut self, key: RepetitionKey, repetition: Repetition) -> bool {
        let Some(entry) = self.entries.iter_mut().find(|entry| entry.key == key) else {
            return false;
        };
        entry.repetition = repetition;
        self.compare();
        true
    }

    /// A repetition is on disk: from now on it is shown. Returns it, unless it was struck out
    /// meanwhile.
    pub(super) fn kept(&mut self, key: RepetitionKey, id: String) -> Option<Repetition> {
        let entry = self.entries.iter_mut().find(|entry| entry.key == key)?;
        entry.id = Some(id);
        let repetition = entry.repetition.clone();
        self.compare();
        Some(repetition)
    }

    /// Takes a repetition out; returns it.
    pub(super) fn strike_out(&mut self, key: RepetitionKey) -> Option<Repetition> {
        let place = self.entries.iter().position(|entry| entry.key == key)?;
        let entry = self.entries.remove(place);
        self.compare();
        Some(entry.repetition)
    }

    /// Repetitions of a phase, side and direction that count, those on their way to the disk among
    /// them.
    pub(super) fn count(&self, phase: Phase, side: Side, direction: Direction) -> usize {
        let is_one = |entry: &&Entry| {
            let one = &entry.repetition;
            (one.phase, one.side, one.direction) == (phase, side, direction)
        };
        self.entries.iter().filter(is_one).count()
    }

    /// Whether nothing was captured yet.
    pub(super) const fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The repetition that was kept last.
    pub(super) fn last_kept(&self) -> Option<RepetitionKey> {
        self.entries.iter().rev().find(|entry| entry.id.is_some()).map(|entry| entry.key)
    }

    /// Shows final values in place of the live ones.
    pub(super) fn finish(&mut self, repetitions: Vec<Kept>) {
        let mut numbers = [0_usize; 2];
        let entry = |Kept { id, repetition }| {
            let [left, right] = &mut numbers;
            let number = match repetition.side {
                Side::Left => left,
                Side::Right => right,
            };
            let key = RepetitionKey { side: repetition.side, number: *number };
            *number += 1;
            Entry { key, repetition, id: Some(id) }
        };
        self.entries = repetitions.into_iter().map(entry).collect();
        self.compare();
    }

    /// What is on disk, as a viewer is shown it.
    pub(super) fn live(&self) -> Vec<LiveRepetition> {
        self.shown()
            .map(|(id, repetition)| LiveRepetition {
                id: id.clone(),
                side: repetition.side,
                phase: repetition.phase,
                direction: repetition.direction,
                end_range_deg: repetition.end_range_deg,
                uncertainty_deg: repetition.uncertainty_deg,
                end_range_at_s: repetition.end_range_at_s,
                flags: repetition.flags.iter().map(|flag| flag.as_str().to_owned()).collect(),
            })
            .collect()
    }

    /// Before against after, as far as it can be said.
    pub(super) fn changes(&self) -> &[LiveChange] {
        &self.changes
    }

    fn shown(&self) -> impl Iterator<Item = (&String, &Repetition)> {
        self.entries.iter().filter_map(|entry| Some((entry.id.as_ref()?, &entry.repetition)))
    }

    /// The comparison changes only when a repetition does.
    fn compare(&mut self) {
        let shown: Vec<Repetition> =
            self.shown().map(|(_, repetition)| repetition.clone()).collect();
        let measured = |side: &&Side| shown.iter().any(|repetition| repetition.side == **side);
        let verdicts: Vec<Verdict> = Side::ALL
            .iter()
            .filter(measured)
            .flat_map(|&side| verdicts_under(&self.conditions, side, self.test, &shown))
            .collect();
        self.standings = verdicts.iter().filter_map(|verdict| standing(verdict, &shown)).collect();
        self.changes = verdicts
            .into_iter()
            .map(|verdict| LiveChange {
                side: verdict.side,
                direction: verdict.direction.into(),
                baseline_mean_deg: verdict.baseline_mean_deg,
                retest_mean_deg: verdict.retest_mean_deg,
                change_deg: verdict.change_deg,
                limit_deg: verdict.mdc95_deg,
                statement: verdict.statement,
            })
            .collect();
    }
}

/// A total is not measured by repetitions of its own.
fn standing(verdict: &Verdict, shown: &[Repetition]) -> Option<Standing> {
    // A verdict counts only what it rests on.
    let of_retest = |one: &&Repetition| {
        one.phase == Phase::Retest
            && one.side == verdict.side
            && Some(one.direction) == verdict.direction
    };
    Some(Standing {
        side: verdict.side,
        direction: verdict.direction?,
        baseline_count: verdict.baseline_count,
        retest_count: shown.iter().filter(of_retest).count(),
        more: verdict.more,
    })
}
