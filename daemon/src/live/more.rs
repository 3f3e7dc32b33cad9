//! Whether more repetitions would settle a comparison.

use endarc_protocol::words::{Direction, Side};
use serde::Serialize;
use utoipa::ToSchema;

/// How the retest of one leg and direction stands. Nothing in it tells an angle.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveMore {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which way.
    #[schema(value_type = String)]
    pub direction: Direction,
    /// End ranges of the retest that are kept.
    pub made: usize,
    /// At most so many are made in one direction and phase.
    pub most: usize,
    /// What further ones can do.
    pub advice: Advice,
    /// So many more; 0 where none are asked for.
    pub repetitions: usize,
    /// The same in a few plain words.
    pub line: String,
}

/// What further repetitions can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// There are too few to compare at all.
    NotEnoughYet,
    /// They would settle it, if they go on like those that were made.
    MoreWouldSettle,
    /// Nothing is open.
    Settled,
    /// Nothing: the limit decides, and no repetition lowers it.
    LimitDecides,
    /// Nothing within what may be made.
    MoreCannotSettle,
    /// Nothing: the baseline has too few.
    BaselineTooShort,
    /// None are asked for: the person stopped for pain.
    StoppedForPain,
    /// Nothing: no claim may be made, whatever the change.
    NoClaim,
}
