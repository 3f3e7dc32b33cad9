//! Under which conditions before and after are compared, on the command line.

use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use endarc_analysis::verdict::{Changed, Conditions, Looks, Primary};
use endarc_protocol::words::{Direction, Side};

use super::study_file;
use crate::error::Failure;

/// What a comparison needs to know besides the repetitions.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct ComparisonArgs {
    /// The measure that was named before treatment: the stated error rate holds for it alone
    #[arg(long, value_name = "DIRECTION", value_parser = primary_parser())]
    primary: Option<Compared>,
    /// What differed between before and after, besides treatment; may be given several times
    #[arg(long, value_name = "WHAT", value_parser = changed_parser())]
    changed: Vec<Changed>,
    /// The hip is painful or arthritic: a larger limit between days
    #[arg(long)]
    painful: bool,
    /// The retest was watched, and went on until something changed: a larger limit for each look
    #[arg(long)]
    until_change: bool,
    /// The clinic's own reliability study, in place of the assumed limits
    #[arg(long, value_name = "STUDY.json")]
    study: Option<PathBuf>,
}

/// A direction, or both together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Compared(Option<Direction>);

impl ComparisonArgs {
    /// The conditions for a leg.
    ///
    /// # Errors
    /// When the study's file is refused.
    pub(super) fn conditions(&self, side: Side) -> Result<Conditions, Failure> {
        Ok(Conditions {
            changed: self.changed.clone(),
            painful: self.painful,
            study: self.study.as_deref().map(study_file::read).transpose()?,
            primary: self.primary.map(|Compared(direction)| Primary { side, direction }),
            looks: if self.until_change { Looks::AfterEach } else { Looks::Once },
            stopped_by_pain: false,
        })
    }
}

const TOTAL: &str = "total";

fn primary_parser() -> impl TypedValueParser<Value = Compared> {
    let words = Direction::ALL.iter().map(|one| one.as_str()).chain([TOTAL]);
    PossibleValuesParser::new(words).map(|text| Compared(text.parse().ok()))
}

fn changed_parser() -> impl TypedValueParser<Value = Changed> {
    let words = Changed::ALL.iter().map(|one| one.as_str());
    PossibleValuesParser::new(words).try_map(|text| {
        let known = Changed::ALL.into_iter().find(|one| one.as_str() == text);
        known.ok_or("not a word of this list")
    })
}
