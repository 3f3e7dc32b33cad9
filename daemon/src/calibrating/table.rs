//! The guide through levelling a table: a rest pointing to the head end, half a turn, a rest.

use std::f64::consts::PI;

use endarc_analysis::calibration::{Rest, RestFinder};
use endarc_analysis::levelling::TableLevel;
use endarc_analysis::orientation::LiveFilter;
use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

use super::OnTableError;

/// A sensor that lies on a table.
#[derive(Debug, Clone, Default)]
pub struct OnTable {
    finder: RestFinder,
    /// Follows how far the sensor is turned about the vertical from one rest to the other.
    filter: LiveFilter,
    heading_rad: f64,
    first: Option<Laid>,
    refused: Option<OnTableError>,
    /// One standard uncertainty of the tilt that a calibrated sensor reads, rad.
    own_sd_rad: Option<f64>,
}

/// A rest that was long enough, and where the sensor's x pointed.
#[derive(Debug, Clone, Copy)]
struct Laid {
    rest: Rest,
    heading_rad: f64,
}

impl OnTable {
    /// With a sensor whose tilt reading has the standard uncertainty `own_sd_rad` (rad), if it is
    /// calibrated; its samples are then fed corrected.
    #[must_use]
    pub fn new(own_sd_rad: Option<f64>) -> Self {
        Self { own_sd_rad, ..Self::default() }
    }

    /// Takes the next sample; gives the tilt once the second rest is long enough.
    pub fn push(&mut self, sample: &Sample) -> Option<TableLevel> {
        let orientation = self.filter.push(sample);
        if orientation.accepted {
            let x = orientation.attitude().transform_vector(&Vector3::x());
            self.heading_rad = x.y.atan2(x.x);
        }
        self.finder.push(sample);
        // Between two windows it may have begun to turn already.
        let grown = |rest: &Rest| rest.end_s >= sample.time_s;
        let long = |rest: &Rest| rest.duration_s() >= Self::WANTED_S;
        let rest = self.finder.current().filter(grown).filter(long)?;
        let laid = Laid { rest, heading_rad: self.heading_rad };
        let Some(first) = self.first else {
            self.begin(laid);
            return None;
        };
        let turned_rad = turn(first.heading_rad, laid.heading_rad);
        if turned_rad < SAME_WAY_RAD {
            // It goes on resting, or was nudged.
            self.begin(laid);
            return None;
        }
        let level = if PI - turned_rad < HALF_TURN_WITHIN_RAD {
            TableLevel::from_turned(&first.rest, &rest).map_err(OnTableError::from)
        } else {
            Err(OnTableError::NotHalfATurn { turned_deg: turned_rad.to_degrees() })
        };
        level.map_err(|error| self.refused = Some(error)).ok()
    }

    /// Takes a rest as the first one, if it can be one.
    fn begin(&mut self, laid: Laid) {
        match TableLevel::from_one_rest(&laid.rest, self.own_sd_rad.unwrap_or_default()) {
            Ok(_level) => (self.first, self.refused) = (Some(laid), None),
            Err(error) => self.refused = Some(error.into()),
        }
    }

    /// The tilt from the first rest alone, which needs a calibrated sensor and is less certain.
    ///
    /// # Errors
    /// [`OnTableError`].
    pub fn finish(&self) -> Result<TableLevel, OnTableError> {
        let first =
            self.first.ok_or_else(|| self.refused.clone().unwrap_or(OnTableError::NoRest))?;
        let own_sd_rad = self.own_sd_rad.ok_or(OnTableError::NotCalibrated)?;
        Ok(TableLevel::from_one_rest(&first.rest, own_sd_rad)?)
    }

    /// Whether the first rest is done.
    #[must_use]
    pub const fn has_first(&self) -> bool {
        self.first.is_some()
    }

    /// Whether one rest would be enough.
    #[must_use]
    pub const fn is_calibrated(&self) -> bool {
        self.own_sd_rad.is_some()
    }

    /// Whether the sensor lies still now.
    #[must_use]
    pub fn is_still(&self) -> bool {
        self.finder.window().is_some_and(|window| window.still)
    }

    /// How long it has lain where it lies now, s.
    #[must_use]
    pub fn rested_s(&self) -> f64 {
        self.finder.current().map_or(0.0, |rest| rest.duration_s())
    }

    /// Whether it lies the other way round than at the first rest.
    #[must_use]
    pub fn is_turned(&self) -> bool {
        self.first.is_some_and(|first| turn(first.heading_rad, self.heading_rad) >= SAME_WAY_RAD)
    }

    /// What is wrong with the rest that was seen last, if anything.
    #[must_use]
    pub const fn refused(&self) -> Option<&OnTableError> {
        self.refused.as_ref()
    }

    /// How long each rest is to be, s.
    pub const WANTED_S: f64 = 5.0;
}

/// How far one heading is from another, rad, 0 to π.
fn turn(from_rad: f64, to_rad: f64) -> f64 {
    let way = (to_rad - from_rad).rem_euclid(2.0 * PI);
    way.min(2.0 * PI - way)
}

// What a hand does to a sensor that it only moves aside.
const SAME_WAY_RAD: f64 = 60.0_f64.to_radians();
// How exactly half a turn is made by eye; it costs a hundredth of the tilt.
const HALF_TURN_WITHIN_RAD: f64 = 25.0_f64.to_radians();
