//! The still moments of a visit: windows in which a held limb does no more than tremble.

use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

/// Finds the still moments of a recording: windows in which the limb turns by no more than a
/// tremor, each as its mean specific force.
///
/// What a limb held at the same place shows again and again is the same error of the sensor again and
/// again, so moments that show gravity from the same side count as one, as their mean.
#[derive(Debug, Clone, Default)]
pub struct StillMoments {
    window: Vec<Sample>,
    means: Vec<Vector3<f64>>,
    counts: Vec<f64>,
}

impl StillMoments {
    /// Takes the next sample (finite ones only count).
    pub fn push(&mut self, sample: &Sample) {
        if !sample.is_finite() {
            return;
        }
        if self.window.last().is_some_and(|last| sample.time_s - last.time_s > LONGEST_SPACING_S) {
            self.window.clear();
        }
        self.window.push(*sample);
        let begin = self.window.first().map_or(sample.time_s, |first| first.time_s);
        if sample.time_s - begin >= WINDOW_S {
            if let Some(mean) = still_mean(&self.window) {
                self.keep(&mean);
            }
            self.window.clear();
        }
    }

    /// The mean specific forces found so far, m/s², one for each side that gravity was seen from.
    #[must_use]
    pub fn means(&self) -> &[Vector3<f64>] {
        &self.means
    }

    fn keep(&mut self, mean: &Vector3<f64>) {
        let mut kept = self.means.iter_mut().zip(&mut self.counts);
        if let Some((one, count)) = kept.find(|(one, _)| one.angle(mean) < SAME_SIDE_RAD) {
            *count += 1.0;
            *one += (mean - *one) * count.recip().max(LEAST_SHARE);
        } else {
            self.means.push(*mean);
            self.counts.push(1.0);
        }
    }
}

/// The window's mean specific force if its halves and its mean rate say that the limb stood still.
fn still_mean(window: &[Sample]) -> Option<Vector3<f64>> {
    let mean = |part: &[Sample], value: fn(&Sample) -> Vector3<f64>| {
        part.iter().map(value).sum::<Vector3<f64>>() / part.len().max(1) as f64
    };
    let turning = |sample: &Sample| Vector3::from(sample.gyro_rad_s);
    let rate = mean(window, turning);
    let (first, second) = window.split_at(window.len() / 2);
    // Where a movement turns back its mean rate is nothing too, but it accelerates most.
    let turns_back = (mean(first, turning) - mean(second, turning)).norm() > TURNS_BACK_RAD_S;
    let force = |sample: &Sample| Vector3::from(sample.accel_m_s2);
    let turned = mean(first, force).angle(&mean(second, force));
    let all = mean(window, force);
    let lengths = window.iter().map(|s| (force(s).norm() - all.norm()).powi(2)).sum::<f64>();
    let rough = (lengths / window.len() as f64).sqrt();
    (!turns_back
        && rate.norm() < STILL_RATE_RAD_S
        && turned < STILL_TURN_RAD
        && rough < STILL_ROUGHNESS_M_S2)
        .then_some(all)
}

const WINDOW_S: f64 = 0.5;
const LONGEST_SPACING_S: f64 = 0.1;
const SAME_SIDE_RAD: f64 = 2.0_f64.to_radians();
// Of a sensor that lies about all day the newest minutes count: it drifts with temperature.
const LEAST_SHARE: f64 = 0.005;
// A held limb trembles but does not go anywhere. The rate still holds the gyroscope's own bias.
const STILL_RATE_RAD_S: f64 = 4.0_f64.to_radians();
const TURNS_BACK_RAD_S: f64 = 4.0_f64.to_radians();
const STILL_TURN_RAD: f64 = 3.0_f64.to_radians();
const STILL_ROUGHNESS_M_S2: f64 = 0.6;
