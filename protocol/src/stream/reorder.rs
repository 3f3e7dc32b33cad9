//! Puts samples in order and pairs their halves, over a bounded window.

use std::collections::VecDeque;

use crate::frame::{Part, RawSample};

/// A sample that may wait for its other half, or for an earlier one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    pub(super) raw: RawSample,
    pub(super) arrival_s: f64,
    pub(super) sensor_s: f64,
    pub(super) ticks: u64,
}

impl Slot {
    const EMPTY: Self = Self {
        raw: RawSample { accel: Part::Absent, gyro: Part::Absent },
        arrival_s: 0.0,
        sensor_s: 0.0,
        ticks: 0,
    };

    fn is_empty(&self) -> bool {
        self.raw.accel == Part::Absent && self.raw.gyro == Part::Absent
    }

    fn is_complete(&self) -> bool {
        self.raw.accel != Part::Absent && self.raw.gyro != Part::Absent
    }
}

/// What became of a sample that was put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Put {
    InOrder,
    Reordered,
    Duplicate,
    Late,
}

/// The window: everything before `next` was handed out or given up.
#[derive(Debug, Clone)]
pub(super) struct Reorder {
    next: u64,
    /// Slot i is that of counter `next` + i.
    waiting: VecDeque<Slot>,
    accel: Half,
    gyro: Half,
}

/// What was seen of one quantity.
#[derive(Debug, Clone, Copy, Default)]
struct Half {
    /// Bit i: the sample `next` - 1 - i arrived before it was handed out or given up.
    arrived: u128,
    newest: Option<u64>,
}

impl Half {
    fn has(&self, next: u64, counter: u64) -> bool {
        let back = next.saturating_sub(counter).saturating_sub(1);
        u32::try_from(back).is_ok_and(|back| self.arrived.checked_shr(back).unwrap_or(0) & 1 == 1)
    }

    fn shift(&mut self, steps: u64) {
        let steps = u32::try_from(steps).unwrap_or(u32::MAX);
        self.arrived = self.arrived.checked_shl(steps).unwrap_or(0);
    }

    /// Notes an arrival; true when a later one came before.
    fn note(&mut self, counter: u64) -> bool {
        let after_later = self.newest.is_some_and(|newest| counter < newest);
        self.newest = self.newest.max(Some(counter));
        after_later
    }
}

impl Reorder {
    pub(super) fn start(next: u64, window: u64) -> Self {
        // A frame may reach beyond the window by its own length, at most 255 samples.
        let capacity = usize::try_from(window).unwrap_or(0).min(4096) + 256;
        Self {
            next,
            waiting: VecDeque::with_capacity(capacity),
            accel: Half::default(),
            gyro: Half::default(),
        }
    }

    /// The first counter that was neither handed out nor given up.
    pub(super) const fn next(&self) -> u64 {
        self.next
    }

    /// Since when something waits for what is before it, or for its other half, s.
    pub(super) fn waiting_since_s(&self) -> Option<f64> {
        self.waiting.iter().find(|slot| !slot.is_empty()).map(|slot| slot.arrival_s)
    }

    /// Puts a sample in. `counter` must be near `next`: see [`Self::skip_to`].
    pub(super) fn put(&mut self, counter: u64, slot: Slot) -> Put {
        let has_accel = slot.raw.accel != Part::Absent;
        let has_gyro = slot.raw.gyro != Part::Absent;
        let Some(ahead) = counter.checked_sub(self.next) else {
            let again = (has_accel && self.accel.has(self.next, counter))
                || (has_gyro && self.gyro.has(self.next, counter));
            return if again { Put::Duplicate } else { Put::Late };
        };
        let ahead = usize::try_from(ahead).unwrap_or(usize::MAX);
        while self.waiting.len() <= ahead {
            self.waiting.push_back(Slot::EMPTY);
        }
        let Some(place) = self.waiting.get_mut(ahead) else { return Put::Late };
        let again = (has_accel && place.raw.accel != Part::Absent)
            || (has_gyro && place.raw.gyro != Part::Absent);
        if again {
            return Put::Duplicate;
        }
        let is_first = place.is_empty();
        let mut after_later = false;
        if has_accel {
            place.raw.accel = slot.raw.accel;
            after_later |= self.accel.note(counter);
        }
        if has_gyro {
            place.raw.gyro = slot.raw.gyro;
            after_later |= self.gyro.note(counter);
        }
        if is_first {
            *place = Slot { raw: place.raw, ..slot };
        }
        if after_later { Put::Reordered } else { Put::InOrder }
    }

    /// The next sample and its counter, if it is complete.
    pub(super) fn pop_complete(&mut self) -> Option<(u64, Slot)> {
        if self.waiting.front()?.is_complete() { self.pop() } else { None }
    }

    /// The next sample and its counter, complete or not: gives up waiting for it.
    pub(super) fn pop(&mut self) -> Option<(u64, Slot)> {
        let slot = self.waiting.pop_front()?;
        let counter = self.next;
        self.next = counter.saturating_add(1);
        self.accel.shift(1);
        self.gyro.shift(1);
        self.accel.arrived |= u128::from(slot.raw.accel != Part::Absent);
        self.gyro.arrived |= u128::from(slot.raw.gyro != Part::Absent);
        Some((counter, slot))
    }

    /// Gives up everything before `counter`, when nothing is waiting; returns how many that are.
    pub(super) fn skip_to(&mut self, counter: u64) -> u64 {
        let skipped = counter.saturating_sub(self.next);
        self.next = self.next.max(counter);
        self.accel.shift(skipped);
        self.gyro.shift(skipped);
        skipped
    }
}
