//! What is told of the sensors beside the visit, for whoever looks after the program.

use super::{Core, Intake};
use crate::meters::SensorStatus;

impl Core {
    /// When those samples arrived that were fed to the legs since this was last asked, s on the
    /// daemon's clock.
    pub(in crate::pipeline) fn fed(&mut self) -> impl Iterator<Item = f64> + '_ {
        self.fed.drain(..)
    }

    /// How each sensor is doing now.
    pub(in crate::pipeline) fn sensors(&self) -> Vec<SensorStatus> {
        let live = self.visit.state(self.now_s).sensors;
        let status = |intake: &Intake| {
            let shown = live.iter().find(|one| one.role == intake.role());
            SensorStatus {
                link: shown.and_then(|one| one.link),
                battery_percent: shown.and_then(|one| one.battery_percent),
                battery_low: shown.is_some_and(|one| one.battery_low),
                data_age_s: shown.and_then(|one| one.data_age_s),
                ..intake.status()
            }
        };
        self.intakes.iter().map(status).collect()
    }
}
