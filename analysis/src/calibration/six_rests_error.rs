//! Why six rests give no calibration.

use super::Face;
use super::six_rests::LEAST_REST_S;

/// Why six rests give no calibration; each says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SixRestsError {
    /// A face was never on top.
    #[error(
        "never seen on top: {}{}: lay the sensor on each of its six sides once",
        list(missing),
        twice(repeated)
    )]
    FaceMissing {
        /// Which.
        missing: Vec<Face>,
        /// Faces that were on top in more than one rest.
        repeated: Vec<Face>,
    },
    /// A face was on top, but nobody let go.
    #[error(
        "the sensor moved while {face} was on top: lay it down, let go of it and of the table for \
         five seconds (rates must be in rad/s)"
    )]
    Moved {
        /// Which.
        face: Face,
    },
    /// A face was on top for too short a time.
    #[error(
        "the rest with {face} on top lasted {longest_s:.1} s: leave the sensor alone for five \
         seconds, {LEAST_REST_S:.0} s at least"
    )]
    TooShort {
        /// Which.
        face: Face,
        /// The longest rest, s.
        longest_s: f64,
    },
    /// The accelerometer does not show gravity.
    #[error(
        "the sensor shows {shown_m_s2:.2} m/s² at rest instead of about 9.8: accelerations must be \
         in m/s² (not g), and the profile's scale must be right"
    )]
    NotGravity {
        /// Mean length of the rests' specific forces, m/s².
        shown_m_s2: f64,
    },
    /// The gyroscope does not show the same at all rests.
    #[error(
        "the gyroscope's offset differs by {spread_deg_s:.1} °/s between rests: nothing may turn \
         with the sensor, and it needs some minutes to warm up after it is switched on"
    )]
    RatesDiffer {
        /// The largest difference from the mean, °/s.
        spread_deg_s: f64,
    },
    /// The numbers are none of a working sensor.
    #[error(
        "the {axis} axis would have an offset of {offset_m_s2:+.2} m/s² and a scale of {scale:.3}, \
         which no working sensor has: repeat it, and check the profile if that does not help"
    )]
    Implausible {
        /// Which axis: `x`, `y` or `z`.
        axis: char,
        /// Its offset, m/s².
        offset_m_s2: f64,
        /// What its readings would have to be multiplied by.
        scale: f64,
    },
    /// The rests do not fit one sensor.
    #[error(
        "the rests miss gravity by {residual_m_s2:.3} m/s² after correction, {limit_m_s2:.2} m/s² \
         at most: the sensor was touched, or the table moved; repeat it on something firm"
    )]
    Residual {
        /// Root mean square of what is missed, m/s².
        residual_m_s2: f64,
        /// What is allowed, m/s².
        limit_m_s2: f64,
    },
}

fn list(faces: &[Face]) -> String {
    faces.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn twice(faces: &[Face]) -> String {
    if faces.is_empty() { String::new() } else { format!(" (but more than once: {})", list(faces)) }
}
