//! What is wrong with a sensor's own readings, and how well that is known.
//!
//! Two ways lead there. Before any visit a sensor is laid on each of its six faces, and a
//! [`Calibration`] follows ([`SixRests`]), which holds for the sensor, less certainly as it ages.
//! During a visit the [`AccelerometerOffset`] follows from the moments at which the limb was held
//! still, as far as they show it, beginning from an [`OffsetPrior`].

mod face;
mod length_fit;
mod prior;
mod rest;
mod self_calibration;
mod sensor_calibration;
mod six_rests;
mod six_rests_error;
mod still_moments;

pub use face::Face;
pub use prior::{OffsetPrior, OffsetPriors};
pub use rest::{Rest, RestFinder, Window, rests};
pub use self_calibration::AccelerometerOffset;
pub use sensor_calibration::Calibration;
pub use six_rests::{Progress, SixRests};
pub use six_rests_error::SixRestsError;
pub use still_moments::StillMoments;
