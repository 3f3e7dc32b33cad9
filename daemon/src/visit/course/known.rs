//! What is known of a person, or of a visit that broke off, before this one begins.

use super::answer::{Answer, Cautions};
use super::step::Step;

/// A person who was here before.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Known {
    /// The day of the last visit, `YYYY-MM-DD`.
    pub since: String,
    /// The newest answer of each kind, of all visits.
    pub answers: Vec<Answer>,
}

impl Known {
    /// Whether the cautions were asked.
    pub(super) fn cautions(&self) -> Option<&Cautions> {
        self.answers.iter().rev().find_map(|answer| match answer {
            Answer::Cautions(cautions) => Some(cautions),
            _ => None,
        })
    }
}

/// A visit that broke off a short while ago, to be taken up.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BrokenOff {
    /// Its answers with their steps, oldest first.
    pub answers: Vec<(Step, Answer)>,
}
