//! A sensor's calibration from rests on each of its six faces.
//!
//! The case is laid down by hand, roughly; how exactly does not matter (see `length_fit`). Rests in
//! between the faces are welcome: they show the cross-axis that the faces alone do not.

use endarc_protocol::sample::Sample;
use nalgebra::{Matrix3, Vector3};

use super::length_fit::LengthFit;
use super::{Calibration, Face, Rest, RestFinder, SixRestsError};
use crate::orientation::STANDARD_GRAVITY_M_S2;

/// Follows a sensor while it is laid on its faces, live or from a file.
#[derive(Debug, Clone, Default)]
pub struct SixRests {
    finder: RestFinder,
    rests: Vec<Rest>,
    /// How long each face was on top, still or not, s.
    on_top_s: [f64; 6],
}

/// How far the six rests have come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// The face that is on top now; `None` in between, or before anything was seen.
    pub on_top: Option<Face>,
    /// Whether the sensor lies still now.
    pub still: bool,
    /// How long the longest rest on each face is, s, in the order of [`Face::ALL`].
    pub rest_s: [f64; 6],
}

impl Progress {
    /// Whether a face has rested long enough.
    #[must_use]
    pub fn has(&self, face: Face) -> bool {
        self.rest_s.iter().zip(Face::ALL).any(|(&s, own)| own == face && s >= LEAST_REST_S)
    }

    /// Whether all six have.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        Face::ALL.iter().all(|&face| self.has(face))
    }

    /// How long a rest is to be, s.
    #[must_use]
    pub const fn wanted_s() -> f64 {
        LEAST_REST_S
    }
}

impl SixRests {
    /// Of a whole recording.
    #[must_use]
    pub fn of(samples: &[Sample]) -> Self {
        let mut all = Self::default();
        for sample in samples {
            all.push(sample);
        }
        all
    }

    /// Takes the next sample (finite ones only count).
    pub fn push(&mut self, sample: &Sample) {
        let before = self.finder.window().copied();
        self.rests.extend(self.finder.push(sample));
        if let Some(window) = self.finder.window().filter(|window| Some(**window) != before)
            && let Some(face) = Face::on_top(&window.force_m_s2)
            && let Some(on_top_s) = self.on_top_s.get_mut(place(face))
        {
            *on_top_s += window.duration_s;
        }
    }

    /// How far it has come.
    #[must_use]
    pub fn progress(&self) -> Progress {
        let window = self.finder.window();
        Progress {
            on_top: window.and_then(|window| Face::on_top(&window.force_m_s2)),
            still: window.is_some_and(|window| window.still),
            rest_s: Face::ALL.map(|face| self.longest_s(face)),
        }
    }

    /// The calibration that the rests so far give, gravity taken as the standard one (its length
    /// where the sensor is only scales all axes alike, which changes no angle).
    ///
    /// # Errors
    /// [`SixRestsError`] says what is missing or wrong.
    pub fn calibration(&self) -> Result<Calibration, SixRestsError> {
        let rests: Vec<Rest> =
            self.all().filter(|rest| rest.duration_s() >= LEAST_REST_S).collect();
        shows_gravity(&rests)?;
        self.every_face()?;
        let (gyro_offset_rad_s, gyro_offset_sd_rad_s) = gyro_offset(&rests)?;
        let forces: Vec<Vector3<f64>> = rests.iter().map(|rest| rest.force_m_s2).collect();
        let fit = LengthFit::of(&forces, STANDARD_GRAVITY_M_S2);
        let calibration = Calibration {
            accel_offset_m_s2: fit.offset_m_s2(),
            accel_matrix: fit.matrix(),
            gyro_offset_rad_s,
            accel_offset_covariance: fit.offset_covariance(),
            accel_matrix_sd: fit.matrix_sd(),
            gyro_offset_sd_rad_s,
            residual_m_s2: residual_m_s2(&fit, &forces),
            gravity_m_s2: STANDARD_GRAVITY_M_S2,
            rests: rests.len(),
        };
        plausible(&calibration)?;
        Ok(calibration)
    }

    fn all(&self) -> impl Iterator<Item = Rest> + '_ {
        self.rests.iter().copied().chain(self.finder.current())
    }

    fn of_face(&self, face: Face) -> impl Iterator<Item = Rest> + '_ {
        self.all().filter(move |rest| Face::on_top(&rest.force_m_s2) == Some(face))
    }

    fn longest_s(&self, face: Face) -> f64 {
        self.of_face(face).map(|rest| rest.duration_s()).fold(0.0, f64::max)
    }

    /// Whether each face has a rest.
    fn every_face(&self) -> Result<(), SixRestsError> {
        let lacking: Vec<Face> =
            Face::ALL.into_iter().filter(|&face| self.longest_s(face) < LEAST_REST_S).collect();
        let missing: Vec<Face> = lacking
            .iter()
            .copied()
            .filter(|&face| self.on_top_s.get(place(face)).is_none_or(|&s| s < SEEN_S))
            .collect();
        let Some(&face) = lacking.first() else { return Ok(()) };
        if !missing.is_empty() {
            let often = |face: &Face| {
                self.of_face(*face).filter(|rest| rest.duration_s() >= LEAST_REST_S).count() > 1
            };
            let repeated = Face::ALL.into_iter().filter(often).collect();
            return Err(SixRestsError::FaceMissing { missing, repeated });
        }
        let on_top_s = self.on_top_s.get(place(face)).copied().unwrap_or_default();
        let longest_s = self.longest_s(face);
        // Long enough on top, and yet no rest: it was not let go of.
        Err(if on_top_s >= LEAST_REST_S + SEEN_S || longest_s <= 0.0 {
            SixRestsError::Moved { face }
        } else {
            SixRestsError::TooShort { face, longest_s }
        })
    }
}

/// The place of a face in [`Face::ALL`].
fn place(face: Face) -> usize {
    Face::ALL.iter().position(|&own| own == face).unwrap_or_default()
}

/// Opposite faces cancel the offset, so the mean length is that of gravity.
fn shows_gravity(rests: &[Rest]) -> Result<(), SixRestsError> {
    let lengths = rests.iter().map(|rest| rest.force_m_s2.norm()).sum::<f64>();
    let shown_m_s2 = lengths / rests.len().max(1) as f64;
    let is_gravity = (0.9..1.1).contains(&(shown_m_s2 / STANDARD_GRAVITY_M_S2));
    if rests.is_empty() || is_gravity {
        Ok(())
    } else {
        Err(SixRestsError::NotGravity { shown_m_s2 })
    }
}

/// Mean rate at rest and its standard uncertainty, which is what the rests say by how they differ.
fn gyro_offset(rests: &[Rest]) -> Result<(Vector3<f64>, Vector3<f64>), SixRestsError> {
    let count = rests.len().max(1) as f64;
    let mean = rests.iter().map(|rest| rest.rate_rad_s).sum::<Vector3<f64>>() / count;
    let differences = || rests.iter().map(|rest| rest.rate_rad_s - mean);
    let spread = differences().map(|difference| difference.amax()).fold(0.0, f64::max);
    if spread > LARGEST_SPREAD_RAD_S {
        return Err(SixRestsError::RatesDiffer { spread_deg_s: spread.to_degrees() });
    }
    let squares = differences().map(|d| d.component_mul(&d)).sum::<Vector3<f64>>();
    let of_mean = (squares / ((count - 1.0).max(1.0) * count)).map(f64::sqrt);
    Ok((mean, of_mean.map(|sd| sd.hypot(GYRO_FLOOR_SD_RAD_S))))
}

fn residual_m_s2(fit: &LengthFit, forces: &[Vector3<f64>]) -> f64 {
    let missed = |force: &Vector3<f64>| {
        (fit.matrix() * (force - fit.offset_m_s2())).norm() - STANDARD_GRAVITY_M_S2
    };
    let squares = forces.iter().map(|force| missed(force).powi(2)).sum::<f64>();
    (squares / forces.len().max(1) as f64).sqrt()
}

fn plausible(calibration: &Calibration) -> Result<(), SixRestsError> {
    let Calibration { accel_offset_m_s2: offset, accel_matrix: matrix, .. } = calibration;
    let scale = Matrix3::diagonal(matrix);
    for (axis, (&offset_m_s2, &scale)) in
        ['x', 'y', 'z'].into_iter().zip(offset.iter().zip(scale.iter()))
    {
        if offset_m_s2.abs() > LARGEST_OFFSET_M_S2 || (scale - 1.0).abs() > LARGEST_SCALE_ERROR {
            return Err(SixRestsError::Implausible { axis, offset_m_s2, scale });
        }
    }
    let residual_m_s2 = calibration.residual_m_s2;
    if residual_m_s2 > LARGEST_RESIDUAL_M_S2 {
        let limit_m_s2 = LARGEST_RESIDUAL_M_S2;
        return Err(SixRestsError::Residual { residual_m_s2, limit_m_s2 });
    }
    Ok(())
}

pub(super) const LEAST_REST_S: f64 = 3.0;
// A face that was on top for less was only passed by on the way to another.
const SEEN_S: f64 = 1.0;
// A part that warms up wanders by some tenths; a turntable, or a hand, does more.
const LARGEST_SPREAD_RAD_S: f64 = 1.0_f64.to_radians();
// A gyroscope's offset wanders by some hundredths of a degree a second in minutes (common practice).
const GYRO_FLOOR_SD_RAD_S: f64 = 0.02_f64.to_radians();
// 150 mg and 6 %: beyond what data sheets of cheap parts allow (from memory).
const LARGEST_OFFSET_M_S2: f64 = 1.5;
const LARGEST_SCALE_ERROR: f64 = 0.06;
// Several times what a rest on a firm table is known to.
const LARGEST_RESIDUAL_M_S2: f64 = 0.04;

#[cfg(test)]
mod tests;
