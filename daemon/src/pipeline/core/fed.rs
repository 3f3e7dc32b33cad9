//! What the legs were fed since the visit began, as long as sensors may still turn out to be on the
//! wrong leg: once they are exchanged, it is fed again to the other leg.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side, TrialType};

use crate::visit::exchanged;

/// One thing that a leg was fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fed {
    /// A sample, by where its sensor was said to be worn.
    Sample(SensorRole, Sample),
    /// A span of a leg began.
    Begin(Side, TrialType, f64),
    /// A span of a leg ended.
    End(Side, f64),
    /// A position of a leg was marked.
    Mark(Side, f64),
}

/// All of it, until a value rests on it.
#[derive(Debug)]
pub(super) struct History {
    /// `None` once it is not needed any more, or has become too long.
    fed: Option<Vec<Fed>>,
}

impl History {
    pub(super) const fn new() -> Self {
        Self { fed: Some(Vec::new()) }
    }

    pub(super) fn push(&mut self, one: Fed) {
        if let Some(fed) = &mut self.fed {
            if fed.len() < MOST_FED {
                fed.push(one);
            } else {
                self.fed = None;
            }
        }
    }

    /// A value rests on it: nothing is exchanged any more.
    pub(super) fn close(&mut self) {
        self.fed = None;
    }

    /// The sensors of the two shanks change places; gives what the legs are to be fed anew, in order.
    /// `None` where it is not all known any more: then the legs begin with what comes.
    pub(super) fn exchange(&mut self) -> Option<Vec<Fed>> {
        let fed = self.fed.as_mut()?;
        for one in fed.iter_mut() {
            if let Fed::Sample(role, _) = one {
                *role = exchanged(*role);
            }
        }
        Some(fed.clone())
    }
}

// Five minutes of three sensors at 200 Hz: some 15 MB.
const MOST_FED: usize = 180_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_change_legs_and_spans_do_not() {
        let sample = Sample::default();
        let mut history = History::new();
        history.push(Fed::Begin(Side::Left, TrialType::Neutral, 1.0));
        history.push(Fed::Sample(SensorRole::LeftShank, sample));
        history.push(Fed::Sample(SensorRole::Pelvis, sample));
        let expected = [
            Fed::Begin(Side::Left, TrialType::Neutral, 1.0),
            Fed::Sample(SensorRole::RightShank, sample),
            Fed::Sample(SensorRole::Pelvis, sample),
        ];
        assert_eq!(history.exchange().as_deref(), Some(&expected[..]));
        history.close();
        history.push(Fed::End(Side::Left, 2.0));
        assert_eq!(history.exchange(), None);
    }

    #[test]
    fn what_is_too_long_is_not_kept_in_part() {
        let mut history = History::new();
        for _ in 0..=MOST_FED {
            history.push(Fed::Mark(Side::Left, 0.0));
        }
        assert_eq!(history.exchange(), None);
    }
}
