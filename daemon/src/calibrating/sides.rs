//! The guide through the six rests of a sensor.

use endarc_analysis::calibration::{Calibration, Face, Progress, SixRests, SixRestsError};
use endarc_protocol::sample::Sample;

/// A sensor that is being laid on its six sides, and what to do next.
#[derive(Debug, Clone, Default)]
pub struct Sides {
    rests: SixRests,
}

impl Sides {
    /// What to do, before anything was seen.
    pub const HOW: &'static str =
        "Lay the sensor on each of its six sides, roughly, and let go for five seconds each time";

    /// After a whole recording.
    #[must_use]
    pub fn of(samples: &[Sample]) -> Self {
        Self { rests: SixRests::of(samples) }
    }

    /// Takes the next sample as it came from the sensor.
    pub fn push(&mut self, sample: &Sample) {
        self.rests.push(sample);
    }

    /// How far it has come.
    #[must_use]
    pub fn progress(&self) -> Progress {
        self.rests.progress()
    }

    /// What to do now, e.g. `x up: still, leave it alone`.
    #[must_use]
    pub fn prompt(progress: &Progress) -> String {
        match (progress.on_top, progress.still) {
            _ if progress.is_complete() => "All six sides are done: finish".to_owned(),
            (Some(face), true) if !progress.has(face) => {
                format!("{face}: still, leave it alone")
            }
            (Some(face), false) if !progress.has(face) => format!("{face}: let go of it"),
            (Some(face), _) => format!("{face} is done: lay it on another side"),
            (None, _) => "Lay it on one of its sides".to_owned(),
        }
    }

    /// Which sides are left, e.g. `left: z down, y up`.
    #[must_use]
    pub fn left(progress: &Progress) -> String {
        let left: Vec<String> = Face::ALL
            .into_iter()
            .filter(|&face| !progress.has(face))
            .map(|face| face.to_string())
            .collect();
        if left.is_empty() {
            "all sides are done".to_owned()
        } else {
            format!("left: {}", left.join(", "))
        }
    }

    /// What the rests so far give.
    ///
    /// # Errors
    /// [`SixRestsError`] says what is missing or wrong, and what to do.
    pub fn finish(&self) -> Result<Calibration, SixRestsError> {
        self.rests.calibration()
    }
}
