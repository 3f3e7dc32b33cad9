//! A comparison in plain words.

use super::loosening::Loosening;
use super::unseen::{Origin, Unseen};
use crate::result::Finding;

/// Stands, untriggered, in every report.
pub const ALWAYS_SAID: &str = "Limited rotation can be bone or joint as well as muscle, and stretching \
                               may not change it.";

/// Why no claim is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NoClaim {
    /// Another rater.
    Rater,
    /// Another position.
    Position,
    /// Another end criterion.
    EndCriterion,
    /// The knee was bent otherwise, degrees of difference.
    Knee(f64),
    /// The first baseline repetition fell short, degrees.
    Loosened(f64),
}

impl NoClaim {
    fn words(self) -> String {
        match self {
            Self::Rater => "another rater moved the limb, and raters differ by far more than one \
                            person's change"
                .to_owned(),
            Self::Position => "the position was another, and positions are not compared".to_owned(),
            Self::EndCriterion => "the end was decided by another criterion".to_owned(),
            Self::Knee(deg) => {
                format!("the knee was bent {deg:.0}° differently on average, more than 10°")
            }
            Self::Loosened(deg) => format!(
                "the first baseline repetition fell {deg:.1}° short of the others, so the hip was \
                 still loosening; warm up with a few movements, then measure the baseline"
            ),
        }
    }
}

/// What a statement is made of.
#[derive(Debug)]
pub(super) struct Told<'a> {
    pub(super) finding: Finding,
    pub(super) change_deg: Option<f64>,
    pub(super) limit_deg: f64,
    pub(super) possible_deg: f64,
    pub(super) unseen: &'a Unseen,
    pub(super) counts: (usize, usize),
    pub(super) no_claim: Option<NoClaim>,
    /// The first baseline repetition fell short.
    pub(super) loosening: Option<Loosening>,
    /// Of internal and external together.
    pub(super) is_total: bool,
    /// Looked at after every repetition.
    pub(super) looked: bool,
}

impl Told<'_> {
    /// Where the limit comes from.
    pub(super) fn source(&self) -> String {
        let mut text = self.unseen.origin.source();
        if self.is_total {
            text = format!("√2 times the floor of one direction: {text}");
        }
        if self.limit_deg > self.unseen.floor_deg && !self.looked {
            text = format!(
                "scatter of this visit's own repetitions (Student's t), together with: {text}"
            );
        }
        if self.looked {
            text.push_str("; widened for looks after every repetition");
        }
        text
    }
}

/// One or a few plain sentences.
pub(super) fn statement(told: &Told<'_>) -> String {
    let mut text = match (told.finding, told.change_deg) {
        (Finding::ExceedsError, Some(change)) => compared(told, change, "exceeds"),
        (Finding::WithinError, Some(change)) => compared(told, change, "does not exceed"),
        (Finding::NoClaim, _) => {
            let why = told.no_claim.map(NoClaim::words).unwrap_or_default();
            format!("No claim about this change: {why}.")
        }
        _ => format!(
            "No comparison: {} repetition(s) before and {} after, at least {} of each are needed.",
            told.counts.0,
            told.counts.1,
            super::LEAST_REPETITIONS
        ),
    };
    // A refused claim has said so already.
    if let Some(loosening) = told.loosening.filter(|_| told.finding != Finding::NoClaim) {
        text.push_str(&warm_up(loosening));
    }
    text
}

fn warm_up(Loosening { short_deg, left_out }: Loosening) -> String {
    let kept = if left_out { " and is left out" } else { "" };
    format!(
        " The first baseline repetition fell {short_deg:.1}° short of the others{kept}: the hip was \
         loosening; warm up with a few movements before the baseline."
    )
}

fn compared(told: &Told<'_>, change: f64, verb: &str) -> String {
    let decimals = decimals(change, told.limit_deg);
    let limit = limit(told, decimals);
    let mut text = format!("Change of {change:+.decimals$}° {verb} {limit}.");
    if told.finding == Finding::WithinError && change.abs() > told.possible_deg {
        text.push_str(&format!(
            " It exceeds the 90 % limit of {:.1}°: possible, not shown.",
            told.possible_deg
        ));
    }
    text
}

/// As many decimals as it takes to show which of the two is larger.
fn decimals(change: f64, limit: f64) -> usize {
    let rounded = |value: f64| (value * 10.0).round();
    if rounded(change.abs()) == rounded(limit) { 2 } else { 1 }
}

fn limit(told: &Told<'_>, decimals: usize) -> String {
    let (limit, floor) = (told.limit_deg, told.unseen.floor_deg);
    let widened = if told.looked {
        format!(", {limit:.decimals$}° as it was looked at after every repetition")
    } else if limit > floor {
        format!(", {limit:.decimals$}° with this visit's own scatter")
    } else {
        String::new()
    };
    // The floor itself is told to the digits that tell it from the change.
    let decimals = if widened.is_empty() { decimals } else { 1 };
    match &told.unseen.origin {
        Origin::Study(name) => {
            format!("the limit of {floor:.decimals$}° of the study “{name}”{widened}")
        }
        Origin::Assumed(covers) => format!(
            "our assumed limit of {floor:.decimals$}° ({}){widened}; no study of this set-up exists",
            Origin::circumstances(*covers)
        ),
    }
}
