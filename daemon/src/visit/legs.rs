//! What is known of each leg at this moment.

use endarc_analysis::limb::LimbAngle;
use endarc_analysis::result::AlignmentKind;
use endarc_protocol::words::{SensorRole, Side};

use super::sensors::Sensors;
use super::strings;
use crate::live::{LegState, LiveLeg};

/// One leg.
#[derive(Debug, Clone)]
pub(super) struct Leg {
    side: Side,
    angle: Option<LimbAngle>,
    aligned: Option<AlignmentKind>,
    refusal: Option<String>,
}

impl Leg {
    pub(super) const fn new(side: Side) -> Self {
        Self { side, angle: None, aligned: None, refusal: None }
    }

    pub(super) const fn angle(&mut self, angle: LimbAngle) {
        self.angle = Some(angle);
    }

    /// How far its sensor has turned in all, degrees.
    pub(super) fn turned_deg(&self) -> f64 {
        self.angle.map_or(0.0, |angle| angle.turned_deg)
    }

    pub(super) const fn side(&self) -> Side {
        self.side
    }

    /// Whether the knee bends have told how the sensor sits.
    pub(super) fn knee_bends_done(&self) -> bool {
        self.aligned == Some(AlignmentKind::KneeBends)
    }

    pub(super) fn aligned(&mut self, kind: AlignmentKind) {
        self.aligned = Some(kind);
        self.refusal = None;
    }

    pub(super) fn refused(&mut self, reason: String) {
        self.refusal = Some(reason);
    }

    /// As a viewer is shown it. A silent sensor shows no angle, never the last one held.
    pub(super) fn live(&self, sensors: &Sensors, now_s: f64) -> LiveLeg {
        let shank = SensorRole::shank(self.side);
        let silent = sensors.silent_for_s(shank, now_s).is_some();
        let angle = self.angle.filter(|_| !silent);
        LiveLeg {
            side: self.side,
            state: match (angle, self.aligned) {
                (None, _) => LegState::NoData,
                (Some(_), None) => LegState::NotAligned,
                (Some(_), Some(_)) => LegState::Ready,
            },
            angle_deg: angle.and_then(|angle| angle.angle_deg).filter(|deg| deg.is_finite()),
            uncertainty_deg: angle.and_then(|angle| angle.uncertainty_deg),
            knee_flexion_deg: angle.and_then(|angle| angle.knee_flexion_deg),
            pelvis_roll_deg: angle.and_then(|angle| angle.pelvis_roll_deg),
            raised: angle.is_some_and(|angle| angle.raised),
            data_age_s: sensors.age_s(shank, now_s),
            notice: self.notice(sensors, now_s),
        }
    }

    fn notice(&self, sensors: &Sensors, now_s: f64) -> String {
        let shank = SensorRole::shank(self.side);
        let quiet = [shank, SensorRole::Pelvis]
            .into_iter()
            .find_map(|role| Some((role, sensors.silent_for_s(role, now_s)?)));
        match quiet {
            Some((role, silent_s)) => strings::no_data_for(role, silent_s),
            None => self.refusal.clone().unwrap_or_default(),
        }
    }
}
