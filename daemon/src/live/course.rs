//! The course of a guided visit, as a viewer is shown it.

use endarc_protocol::words::{Direction, Side};
use serde::Serialize;
use utoipa::ToSchema;

use crate::visit::{Answer, Known, Step};

/// Where a guided visit stands.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LiveCourse {
    /// The present step.
    #[schema(value_type = String)]
    pub step: Step,
    /// Whether it is answered on the page; else limb and pedal lead through it.
    pub asked: bool,
    /// All steps of this visit, in order.
    pub steps: Vec<LiveStep>,
    /// What is being measured, and how much of it is kept; empty while nothing is.
    pub targets: Vec<LiveTarget>,
    /// How long both legs are still to lie flat, s; null outside that step.
    pub flat_left_s: Option<f64>,
    /// Counts up with each answer: then `/api/course` shows something new.
    pub revision: u32,
    /// Who has the hands on the leg, where that was said.
    pub rater: Option<String>,
    /// What was answered; shown by `/api/course`, not thirty times a second.
    #[serde(skip)]
    pub answers: Vec<Answer>,
    /// What is known of the person; shown there as well.
    #[serde(skip)]
    pub known: Option<Known>,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LiveStep {
    /// Which.
    #[schema(value_type = String)]
    pub step: Step,
    /// How it stands.
    pub state: StepState,
    /// Why it was left out; null where it was not.
    pub reason: Option<String>,
}

/// How a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StepState {
    /// It is done.
    Done,
    /// It was left out with a reason.
    LeftOut,
    /// It is the present one.
    Now,
    /// It is still to come.
    Ahead,
}

/// One side and direction that is measured now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LiveTarget {
    /// Which leg.
    #[schema(value_type = String)]
    pub side: Side,
    /// Which direction.
    #[schema(value_type = String)]
    pub direction: Direction,
    /// Repetitions kept in this phase.
    pub kept: usize,
    /// Repetitions wanted.
    pub wanted: usize,
    /// Whether it comes next, where chance decides.
    pub next: bool,
}
