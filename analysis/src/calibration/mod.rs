//! What is wrong with a sensor's own readings, and how well that is known.
//!
//! During a visit the [`AccelerometerOffset`] follows from the moments at which the limb was held
//! still, as far as they show it. A sensor that lies on something and is left alone has a [`Rest`].

mod rest;
mod self_calibration;
mod still_moments;

pub use rest::{Rest, RestFinder, rests};
pub use self_calibration::AccelerometerOffset;
pub use still_moments::StillMoments;
