//! The turn over missing samples.

use nalgebra::Vector3;

/// Missing samples between two that are there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    /// How much is missing, s.
    pub(super) missing_s: f64,
    /// A sample's own interval, s.
    pub(super) spacing_s: f64,
    /// Rate before and after, rad/s.
    pub(super) before: Vector3<f64>,
    /// See there.
    pub(super) after: Vector3<f64>,
}

impl Gap {
    /// The mean rate over it, with the last change of the rate before it: a parabola that leaves as
    /// the rate did, as far as a limb keeps up a change, and meets the rate after it.
    pub(super) fn mean_rate(&self, change: &Vector3<f64>) -> Vector3<f64> {
        let span_s = self.missing_s + self.spacing_s;
        let bend = change * (span_s / self.spacing_s) - (self.after - self.before);
        let kept = KEPT_S / (KEPT_S + span_s);
        (self.before + self.after) * 0.5 + bend * (kept / 6.0)
    }

    /// What the rate may have done instead, rad.
    pub(super) fn lost_sd_rad(&self) -> f64 {
        self.missing_s
            * (CHANGE_SHARE * (self.after - self.before).norm()
                + CURVE_SHARE * self.after.norm().max(self.before.norm())
                + FLOOR_RAD_S)
    }
}

// A limb's angular acceleration keeps its sign for about this long, s.
const KEPT_S: f64 = 0.1;
// What a gap may have cost, by the change of rate over it and by the rate itself, as shares.
const CHANGE_SHARE: f64 = 0.25;
const CURVE_SHARE: f64 = 0.15;
const FLOOR_RAD_S: f64 = 0.2_f64.to_radians();

#[cfg(test)]
mod tests {
    use super::*;

    /// A sine at 1 Hz with 60 ms missing at its crest, where a straight line loses most.
    #[test]
    fn a_bend_is_followed_better_than_by_a_line() {
        let omega = 2.0 * std::f64::consts::PI;
        let rate = |time: f64| Vector3::x() * (omega * time).sin();
        let (missing_s, spacing_s) = (0.06, 0.01);
        let start = 0.22;
        let gap = Gap {
            missing_s,
            spacing_s,
            before: rate(start - 0.005),
            after: rate(start + missing_s + 0.005),
        };
        let change = rate(start - 0.005) - rate(start - 0.015);
        let truth =
            ((omega * start).cos() - (omega * (start + missing_s)).cos()) / omega / missing_s;
        let line = ((gap.before + gap.after).x * 0.5 - truth).abs();
        let bent = (gap.mean_rate(&change).x - truth).abs();
        assert!(bent < 0.5 * line, "{bent} {line}");
        assert!(bent * missing_s < gap.lost_sd_rad());
    }
}
