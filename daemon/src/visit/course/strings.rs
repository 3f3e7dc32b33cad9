//! What the guide says, in one place: plain words, short, for somebody who glances from two metres.

use endarc_protocol::words::{Direction, Side};

use super::step::Step;

/// Shown where the step is answered on the page.
pub const ON_THE_PAGE: &str = "Hands free: answer on the page.";
/// Shown before the limb leads.
pub const SENSORS: &str = "Sensors on, prone. A key begins.";
/// Shown while a shank is held upright.
pub const UPRIGHT: &str = "Upright: hold still.";
/// Shown when all that was wanted is measured and a leg is still in the hands.
pub const ENOUGH: &str = "Enough. Lay the leg down.";
/// Shown while the legs lie flat.
pub const FLAT: &str = "Both legs flat";
/// Shown at the end.
pub const SUMMARY: &str = "Measured. Note, then close.";
/// Shown once consent is withdrawn.
pub const WITHDRAWN: &str = "Consent withdrawn: hands off.";

/// Said when a pedal is pressed where the page asks.
pub const PAGE_ASKS: &str =
    "the page asks something first: answer it there, or leave it out with a reason";
/// The reason stored with a movement that was made to warm up.
pub const WARM_UP: &str = "warm-up, not counted";
/// Said when a leg that was to be held upright lay.
pub const LAY: &str = "the shank lay instead of standing upright: bend the knee three times and hold \
                       it upright once more";
/// Said when the course of a visit that was broken off is taken up.
pub const TAKEN_UP: &str = "the last visit broke off: its answers are taken over. Sensors may have \
                            moved, so the knees are bent once more; what it measured stays with it";

/// Why cautions are not taken.
pub const LOOKED_AT: &str =
    "something applies: say who has looked at it and why it is gone on with, or end the visit here";
/// Why the question about the growth plate is not taken.
pub const GROWTH_PLATE: &str = "limp, or pain in groin or knee, of a child can come from the hip's growth plate: no movement \
     before somebody licensed has looked at it. Say who has, or end the visit here";
/// Why consent is not taken.
pub const NO_CONTACT: &str =
    "without consent to being touched nothing is measured: end the visit here";
/// Why consent is not taken.
pub const NO_KEEPING: &str =
    "what is measured is written down as it comes: without consent to that, end the visit here";
/// Why consent is not taken.
pub const GUARDIAN: &str = "under 18: the guardian's consent and the child's own are both needed";
/// Why consent is not taken.
pub const YEARS: &str = "say for how many years it is kept";
/// Why a plan is not taken.
pub const COUNTS: &str = "1 to 10 repetitions, and 0 to 3 movements to warm up";
/// Why a plan is not taken any more.
pub const PLAN_STANDS: &str =
    "baseline has begun: what ends a repetition and the primary measure stay as they are";
/// Why the primary measure is not taken.
pub const BARRED: &str = "this direction must not be moved: choose another as primary measure";
/// Why the person is not taken any more.
pub const PERSON_STANDS: &str = "baseline has begun: whose visit it is stays as it is";
/// Why a step is not left out.
pub const REASON: &str = "say why it is left out";
/// Why a rating is not taken.
pub const PAIN_RANGE: &str = "pain goes from 0 to 10";
/// Why a note is not taken.
pub const EMPTY: &str = "there are no words in it";
/// Why a baseline is not measured again.
pub const TREATED: &str = "treatment has begun: what is measured now is no baseline";
/// Why a step is not done again.
pub const NOT_YET: &str = "that step has not come yet";
/// Why "nothing new" is not taken.
pub const NOT_KNOWN: &str = "nothing was asked of this person before: go through the list";
/// Why the guide takes nothing.
pub const NO_GUIDE: &str = "this visit is not guided";
/// Why "next" is not taken.
pub const ANSWER_FIRST: &str = "this step is answered, or left out with a reason";

/// An answer that does not belong to what has come.
#[must_use]
pub fn not_now(step: Step) -> String {
    format!("the step '{step}' has not come yet")
}

/// A text that is too long.
#[must_use]
pub fn too_long(most: usize) -> String {
    format!("at most {most} characters")
}

/// A code that is none.
#[must_use]
pub fn code(text: &str) -> String {
    format!(
        "'{text}' is no code: 1 to 32 letters, digits, '-', '_' or '.', beginning with a letter or \
         digit; never a name"
    )
}

/// A direction that this test does not move.
#[must_use]
pub fn not_moved(direction: Direction) -> String {
    format!("{direction} is not moved in this test")
}

/// What to do while the knee is bent; the first prompt of a leg.
#[must_use]
pub fn bend(side: Side, done: u32, wanted: u32) -> String {
    let leg = side.as_str().to_uppercase();
    match done {
        0 => format!("Bend the {leg} knee, straighten it."),
        done if done < wanted => format!("{leg} knee: bent {done} of {wanted} times."),
        _ => format!("{leg} shank upright, still."),
    }
}

/// What is measured now, with what is left.
#[must_use]
pub fn measure(retest: bool, left: usize) -> String {
    let what = if retest { "Retest" } else { "Baseline" };
    format!("{what}: turn, hold. {left} to go.")
}

/// The side and direction that chance asks for.
#[must_use]
pub fn measure_this(side: Side, direction: Direction, left: usize) -> String {
    let leg = side.as_str().to_uppercase();
    format!("{leg}, {}. {left} to go.", foot(direction))
}

/// What the foot does.
#[must_use]
pub const fn foot(direction: Direction) -> &'static str {
    match direction {
        Direction::Internal => "foot outward",
        Direction::External => "foot inward",
        Direction::Flexion => "heel to the seat",
    }
}

/// Treatment.
#[must_use]
pub fn treat(side: Side) -> String {
    format!("Treat the {side} leg. Stop on pain.")
}

/// How long the legs are still to lie.
#[must_use]
pub fn flat(left_s: f64) -> String {
    format!("{FLAT}: {:.0} s more.", left_s.ceil())
}
