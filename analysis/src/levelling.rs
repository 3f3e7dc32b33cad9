//! Levelling: how far the treatment table is off the horizontal, and what that does to the legs.
//!
//! Table axes: x towards the head end, y towards the left of a prone person, z up. The *sideways*
//! tilt is positive where the side of y is higher, the *head-foot* tilt where the head end is.
//!
//! A body on a tilted table is rolled with it as a whole. Seen from the shank the vertical moves along
//! the knee's axis as it moves along y seen from the pelvis, so a sideways tilt δ shifts internal and
//! external rotation of one leg in opposite directions and the two legs against each other: a
//! left-right difference of 2 δ that is none. Total rotation does not change. The tilt is measured
//! with a sensor on the table, never taken from the pelvis, which may be tilted for its own reasons.
//! The head-foot tilt ε inclines the axis of rotation: `sin θ` is read as `cos ε · sin θ`, which at 3°
//! and 45° is 0.1°; it is told, not corrected.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Side, TestKind};
use nalgebra::Vector2;

use crate::calibration::{Rest, rests};
use crate::hip::{Posture, posture, rotation_sign};
use crate::orientation::STANDARD_GRAVITY_M_S2;

/// The sideways tilt of the table on which a leg is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levelling {
    /// Sideways tilt, rad, positive where the side of a prone person's left is higher.
    pub sideways_rad: f64,
    /// One standard uncertainty of it, rad.
    pub sd_rad: f64,
}

impl Levelling {
    /// From a tilt in degrees that was measured with a sensor turned by half a turn in between, as it
    /// is kept with a table.
    #[must_use]
    pub const fn from_degrees(sideways_deg: f64) -> Self {
        Self { sideways_rad: sideways_deg.to_radians(), sd_rad: KEPT_SD_RAD }
    }

    /// What is to be added to a hip rotation (rad, internal positive) that was read from gravity on
    /// this table; zero where gravity does not show the rotation.
    ///
    /// A person who hangs the shank over an edge lies supine with the head at the head end, or sits
    /// on the foot end: the left is on the other side of the table then.
    #[must_use]
    pub fn level_correction_rad(&self, side: Side, test: TestKind) -> f64 {
        let left_side_up_rad = match posture(test) {
            Posture::Prone => self.sideways_rad,
            Posture::Hanging | Posture::Supine9090 => -self.sideways_rad,
        };
        -rotation_sign(side, test) * left_side_up_rad
    }
}

/// How a table's tilt was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevellingMethod {
    /// From two rests with the sensor turned by 180° in between.
    Turned,
    /// From one rest of a calibrated sensor.
    OneRest,
}

/// A table's tilt as it was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableLevel {
    /// Sideways tilt, rad, positive where the side of a prone person's left is higher.
    pub sideways_rad: f64,
    /// One standard uncertainty of it, rad.
    pub sideways_sd_rad: f64,
    /// Head-foot tilt, rad, positive where the head end is higher.
    pub head_foot_rad: f64,
    /// One standard uncertainty of it, rad.
    pub head_foot_sd_rad: f64,
    /// How it was found.
    pub method: LevellingMethod,
}

impl TableLevel {
    /// From two rests of a sensor at the same place, its x axis first towards the head end and z up,
    /// then turned by half a turn about the vertical. What the sensor adds of its own – offset, a
    /// crooked case – does not turn with the table and cancels.
    ///
    /// # Errors
    /// [`LevellingError`].
    pub fn from_turned(first: &Rest, turned: &Rest) -> Result<Self, LevellingError> {
        let (one, other) = (slopes(first)?, slopes(turned)?);
        let own_rad = ((one + other) / 2.0).norm();
        if own_rad > LARGEST_OWN_RAD {
            return Err(LevellingError::NotTogether { own_deg: own_rad.to_degrees() });
        }
        let place = PLACE_SD_RAD.hypot(noise_rad(first)).hypot(noise_rad(turned));
        let halved = std::f64::consts::FRAC_1_SQRT_2;
        Self::checked((one - other) / 2.0, place * halved, halved, LevellingMethod::Turned)
    }

    /// From one rest of a calibrated sensor whose tilt reading has the standard uncertainty
    /// `sensor_sd_rad` (rad), its x axis towards the head end and z up. How crooked the sensor sits
    /// in its case stays in the result, and in its uncertainty.
    ///
    /// # Errors
    /// [`LevellingError`].
    pub fn from_one_rest(rest: &Rest, sensor_sd_rad: f64) -> Result<Self, LevellingError> {
        let place = [PLACE_SD_RAD, noise_rad(rest), sensor_sd_rad, CASE_SD_RAD];
        let sd_rad = place.iter().map(|part| part * part).sum::<f64>().sqrt();
        Self::checked(slopes(rest)?, sd_rad, 1.0, LevellingMethod::OneRest)
    }

    /// `slopes` are the parts of the vertical along x and y; `heading` is how much of the heading's
    /// uncertainty of one rest the result has.
    fn checked(
        slopes: Vector2<f64>,
        place_sd_rad: f64,
        heading: f64,
        method: LevellingMethod,
    ) -> Result<Self, LevellingError> {
        let [head_foot_rad, sideways_rad] = [slopes.x, slopes.y].map(|s| s.clamp(-1.0, 1.0).asin());
        let steepest_deg = head_foot_rad.abs().max(sideways_rad.abs()).to_degrees();
        if steepest_deg > STEEPEST_DEG {
            return Err(LevellingError::TooSteep { tilt_deg: steepest_deg });
        }
        // A sensor that does not point straight to the head end takes one tilt for the other.
        let askew = |other_rad: f64| place_sd_rad.hypot(heading * HEADING_SD_RAD * other_rad);
        Ok(Self {
            sideways_rad,
            sideways_sd_rad: askew(head_foot_rad),
            head_foot_rad,
            head_foot_sd_rad: askew(sideways_rad),
            method,
        })
    }

    /// What a leg measured on this table needs of it.
    #[must_use]
    pub const fn levelling(&self) -> Levelling {
        Levelling { sideways_rad: self.sideways_rad, sd_rad: self.sideways_sd_rad }
    }
}

/// The one rest of a recording of a sensor that lies on the table: its longest, of those that last
/// three seconds.
///
/// # Errors
/// [`LevellingError::NoRest`], or [`LevellingError::SeveralRests`] where it lay in more than one way.
pub fn rest_on_table(samples: &[Sample]) -> Result<Rest, LevellingError> {
    let all = rests(samples);
    let length = |rest: &&Rest| rest.duration_s();
    let longest = all.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
    let longest = longest.filter(|rest| rest.duration_s() >= LEAST_REST_S);
    let rest = longest.ok_or_else(|| LevellingError::NoRest {
        longest_s: all.iter().map(Rest::duration_s).fold(0.0, f64::max),
    })?;
    let elsewhere = |other: &&Rest| {
        other.duration_s() >= LEAST_REST_S && other.up().angle(&rest.up()) > SAME_PLACE_RAD
    };
    match all.iter().find(elsewhere) {
        Some(other) => Err(LevellingError::SeveralRests {
            first_s: rest.start_s.min(other.start_s),
            second_s: rest.start_s.max(other.start_s),
        }),
        None => Ok(*rest),
    }
}

/// The parts of the upward vertical along the sensor's x and y.
fn slopes(rest: &Rest) -> Result<Vector2<f64>, LevellingError> {
    let shown_m_s2 = rest.force_m_s2.norm();
    if !(0.9..1.1).contains(&(shown_m_s2 / STANDARD_GRAVITY_M_S2)) {
        return Err(LevellingError::NotGravity { shown_m_s2 });
    }
    let up = rest.up();
    if up.z < STEEPEST_POSE_RAD.cos() {
        return Err(LevellingError::NotFlat {
            lean_deg: up.z.clamp(-1.0, 1.0).acos().to_degrees(),
        });
    }
    Ok(up.xy())
}

/// Standard uncertainty of a rest's tilt from the noise of its samples, rad.
fn noise_rad(rest: &Rest) -> f64 {
    rest.force_sd_m_s2 / (rest.count.max(1) as f64).sqrt() / STANDARD_GRAVITY_M_S2
}

/// Why a table's tilt cannot be told; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LevellingError {
    /// The sensor was not left alone.
    #[error(
        "the sensor lay still for {longest_s:.1} s at most, {LEAST_REST_S:.0} s are needed: lay it on \
         the table, let go of it and of the table, and record for ten seconds"
    )]
    NoRest {
        /// The longest rest, s.
        longest_s: f64,
    },
    /// It lay in more than one way.
    #[error(
        "the sensor lay in two ways (at {first_s:.0} s and at {second_s:.0} s): \
         record each rest into a file of its own"
    )]
    SeveralRests {
        /// When the one began, s.
        first_s: f64,
        /// When the other began, s.
        second_s: f64,
    },
    /// The accelerometer does not show gravity.
    #[error(
        "the sensor shows {shown_m_s2:.2} m/s² at rest instead of about 9.8: accelerations must be in \
         m/s² (not g)"
    )]
    NotGravity {
        /// Length of the mean specific force, m/s².
        shown_m_s2: f64,
    },
    /// It does not lie on its back.
    #[error(
        "the sensor's z axis leans {lean_deg:.0}° from the vertical: lay it flat, z up and x towards \
         the head end"
    )]
    NotFlat {
        /// Angle between z and the vertical, degrees.
        lean_deg: f64,
    },
    /// The two rests have more in common than a sensor can have of its own.
    #[error(
        "the sensor leans {own_deg:.0}° the same way in both rests, which is more than a case is \
         crooked: lay it on the same flat place and turn it by half a turn, nothing else"
    )]
    NotTogether {
        /// What both have in common, degrees.
        own_deg: f64,
    },
    /// No table to lie on.
    #[error(
        "the table would lean by {tilt_deg:.0}°: lay the sensor on the flat middle part, \
         with the table as it is when people lie on it"
    )]
    TooSteep {
        /// The larger of the two tilts, degrees.
        tilt_deg: f64,
    },
}

// A tilt that was kept as a number: measured with a turned sensor, and the table was used since.
const KEPT_SD_RAD: f64 = 0.2_f64.to_radians();
const LEAST_REST_S: f64 = 3.0;
const SAME_PLACE_RAD: f64 = 1.0_f64.to_radians();
// A padded top is uneven (common practice: some tenths of a degree over a sensor's width).
const PLACE_SD_RAD: f64 = 0.25_f64.to_radians();
// How far off the head end a sensor points that was laid down by eye (common practice).
const HEADING_SD_RAD: f64 = 5.0_f64.to_radians();
// How crooked a sensor's axes are in its case (common practice: half a degree).
const CASE_SD_RAD: f64 = 0.5_f64.to_radians();
// A sensor's own tilt: a cheap accelerometer's offset is worth 2°, a rounded case some more.
const LARGEST_OWN_RAD: f64 = 8.0_f64.to_radians();
const STEEPEST_DEG: f64 = 15.0;
const STEEPEST_POSE_RAD: f64 = 30.0_f64.to_radians();

#[cfg(test)]
mod tests;
