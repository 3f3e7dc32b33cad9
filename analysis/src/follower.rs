//! Follows one leg's angle: when it is in the hands, and what excursions it makes.

use endarc_protocol::words::TestKind;

use crate::repetition::Point;
use crate::repetition::detector::{Detector, Excursion, Noticed};

/// The leg's state, fed with points in the order of time. Live and offline use the same.
#[derive(Debug, Clone)]
pub struct Follower {
    test: TestKind,
    detector: Detector,
    raised: bool,
}

/// What one point changed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Followed {
    /// The leg was lifted or laid down.
    pub lift: Option<Lift>,
    /// What the detector noticed.
    pub noticed: Option<Noticed>,
}

/// Into the hands or out of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lift {
    /// The shank was lifted: this leg is in the hands.
    Raised,
    /// The leg was laid down, or hangs beside the table: done with it.
    LaidDown,
}

impl Follower {
    /// A leg that lies.
    #[must_use]
    pub fn new(test: TestKind) -> Self {
        Self { test, detector: Detector::new(test.directions()), raised: false }
    }

    /// Takes the next point.
    pub fn push(&mut self, point: Point) -> Followed {
        let lift = self.lift(point.knee_deg);
        if lift == Some(Lift::LaidDown) && !self.bends_the_knee() {
            return Followed { lift, noticed: self.detector.finish().map(Noticed::Over) };
        }
        let follows = self.bends_the_knee() || raised(point.knee_deg);
        let noticed = if follows { self.detector.push(point) } else { None };
        Followed { lift, noticed }
    }

    /// The therapist marks the present position as an end range. `None` where nothing comes of it:
    /// the leg is not raised, stands where it rests, or its end range is captured already.
    pub fn mark(&mut self) -> Option<Noticed> {
        (self.raised || self.bends_the_knee()).then(|| self.detector.mark()).flatten()
    }

    /// A span begins or ends: what is in progress ends here if its end had been reached.
    pub fn cut(&mut self) -> Option<Excursion> {
        self.detector.cut()
    }

    /// The excursion in progress, if there is one.
    #[must_use]
    pub fn open(&self) -> Option<&Excursion> {
        self.detector.open()
    }

    /// Whether the leg is in the hands.
    #[must_use]
    pub const fn raised(&self) -> bool {
        self.raised
    }

    /// Whether the angle keeps still.
    #[must_use]
    pub const fn still(&self) -> bool {
        self.detector.still()
    }

    fn lift(&mut self, knee_deg: f64) -> Option<Lift> {
        if !self.raised && raised(knee_deg) {
            self.raised = true;
            Some(Lift::Raised)
        } else if self.raised && laid_down(knee_deg) {
            self.raised = false;
            Some(Lift::LaidDown)
        } else {
            None
        }
    }

    /// Where the knee's own angle is measured, the flat leg is where a movement begins.
    fn bends_the_knee(&self) -> bool {
        self.test == TestKind::ProneKneeBend
    }
}

/// Whether the shank is raised enough for a hip rotation to be meant.
#[must_use]
pub fn raised(knee_deg: f64) -> bool {
    (RAISED_DEG..180.0 - RAISED_DEG).contains(&knee_deg)
}

/// Whether the leg lies flat, or its foot is down beside the table.
#[must_use]
pub fn laid_down(knee_deg: f64) -> bool {
    knee_deg < LAID_DOWN_DEG
}

// Between the two, a leg keeps the state it had.
const RAISED_DEG: f64 = 45.0;
pub(crate) const LAID_DOWN_DEG: f64 = 25.0;
