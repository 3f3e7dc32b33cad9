//! What a visit's samples are corrected with before they are analysed, live and afterwards alike.
//!
//! Samples are kept as they came; the calibration that held when a sensor was strapped on is stored
//! with it.

use endarc_analysis::calibration::{Calibration, OffsetPrior, OffsetPriors};
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side};

use jiff::Timestamp;

use crate::sensor_calibration::SensorCalibration;
use crate::store::records::{VisitRecord, VisitSensor};
use crate::visit::exchanged;

/// The calibrations of a visit's sensors.
#[derive(Debug, Clone, Default)]
pub struct Corrections {
    /// In the order in which sensors were strapped on.
    strapped: Vec<Strapped>,
}

#[derive(Debug, Clone)]
struct Strapped {
    role: SensorRole,
    from_s: f64,
    /// `None` for a sensor that was never calibrated.
    known: Option<Known>,
}

/// What is known of a calibrated sensor.
#[derive(Debug, Clone)]
struct Known {
    calibration: Calibration,
    /// What is known of the offset that corrected samples still have.
    prior: OffsetPrior,
    calibrated_at: Timestamp,
}

impl Known {
    fn of(calibration: &SensorCalibration, at: Timestamp) -> Self {
        Self {
            calibration: calibration.calibration(),
            prior: calibration.offset_prior(at),
            calibrated_at: calibration.calibrated_at,
        }
    }
}

impl Corrections {
    /// Those stored with a visit.
    #[must_use]
    pub fn of(visit: &VisitRecord) -> Self {
        let at = visit.summary.started.utc;
        let strapped = |sensor: &VisitSensor| Strapped {
            role: sensor.role,
            from_s: sensor.from_s,
            known: sensor.calibration.as_ref().map(|calibration| Known::of(calibration, at)),
        };
        let mut strapped: Vec<Strapped> = visit.sensors.iter().map(strapped).collect();
        strapped.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        Self { strapped }
    }

    /// A sample of the sensor worn in this role, as it is to be analysed.
    #[must_use]
    pub fn correct(&self, role: SensorRole, sample: &Sample) -> Sample {
        let worn = |one: &&Strapped| one.role == role && one.from_s <= sample.time_s;
        let last = self.strapped.iter().rev().find(worn);
        last.and_then(|one| one.known.as_ref())
            .map_or(*sample, |known| known.calibration.apply(sample))
    }

    /// The sensor worn in this role was calibrated just now: from here on that counts.
    pub fn calibrated(&mut self, role: SensorRole, calibration: &SensorCalibration) {
        let known = Known::of(calibration, calibration.calibrated_at);
        for one in self.strapped.iter_mut().filter(|one| one.role == role) {
            one.known = Some(known.clone());
        }
    }

    /// The sensors on the two shanks change places.
    pub fn exchange(&mut self) {
        for one in &mut self.strapped {
            one.role = exchanged(one.role);
        }
    }

    /// What is known of the offset that corrected samples of this role's sensor still have, and since
    /// when; `None` where it was never calibrated.
    #[must_use]
    pub fn known(&self, role: SensorRole) -> Option<(OffsetPrior, Timestamp)> {
        let last = self.strapped.iter().rev().find(|one| one.role == role)?;
        last.known.as_ref().map(|known| (known.prior, known.calibrated_at))
    }

    /// What is known of the offsets that corrected samples of one leg's sensors still have: of
    /// several sensors in one role that of the one known least.
    #[must_use]
    pub fn offsets(&self, side: Side) -> OffsetPriors {
        let of = |role| {
            let worn = self.strapped.iter().filter(|one| one.role == role);
            let priors =
                worn.map(|one| one.known.as_ref().map_or_else(OffsetPrior::default, |k| k.prior));
            priors
                .max_by(|a, b| a.largest_sd_m_s2().total_cmp(&b.largest_sd_m_s2()))
                .unwrap_or_default()
        };
        OffsetPriors { shank: of(SensorRole::shank(side)), pelvis: of(SensorRole::Pelvis) }
    }
}
