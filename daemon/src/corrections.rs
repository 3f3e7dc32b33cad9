//! What a visit's samples are corrected with before they are analysed, live and afterwards alike.
//!
//! Samples are kept as they came; the calibration that held when a sensor was strapped on is stored
//! with it.

use endarc_analysis::calibration::{Calibration, OffsetPrior, OffsetPriors};
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side};

use crate::store::records::{VisitRecord, VisitSensor};

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
    known: Option<(Calibration, OffsetPrior)>,
}

impl Corrections {
    /// Those stored with a visit.
    #[must_use]
    pub fn of(visit: &VisitRecord) -> Self {
        let at = visit.summary.started.utc;
        let strapped = |sensor: &VisitSensor| Strapped {
            role: sensor.role,
            from_s: sensor.from_s,
            known: sensor.calibration.as_ref().map(|c| (c.calibration(), c.offset_prior(at))),
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
            .map_or(*sample, |(calibration, _)| calibration.apply(sample))
    }

    /// What is known of the offsets that corrected samples of one leg's sensors still have: of
    /// several sensors in one role that of the one known least.
    #[must_use]
    pub fn offsets(&self, side: Side) -> OffsetPriors {
        let of = |role| {
            let worn = self.strapped.iter().filter(|one| one.role == role);
            let priors =
                worn.map(|one| one.known.as_ref().map_or_else(OffsetPrior::default, |k| k.1));
            priors
                .max_by(|a, b| a.largest_sd_m_s2().total_cmp(&b.largest_sd_m_s2()))
                .unwrap_or_default()
        };
        OffsetPriors { shank: of(SensorRole::shank(side)), pelvis: of(SensorRole::Pelvis) }
    }
}
