//! The pelvis that goes along when a prone person's knee is bent far: it lies still until the front
//! of the thigh is taut, and from there on tilts forward in proportion.

use super::jet::Jet;

/// Half the width of the smooth beginning, degrees of knee flexion.
const HALF_ONSET_DEG: f64 = 0.75;

/// From when on the pelvis begins to tilt at which knee flexion.
#[derive(Debug, Clone, Default)]
pub(crate) struct Onsets(Vec<(f64, f64)>);

impl Onsets {
    /// From this time on the tilt begins at this knee flexion (degrees); to be set while the knee is
    /// less bent than both the last and the new one.
    pub(crate) fn set(&mut self, from_s: f64, flexion_deg: f64) {
        self.0.push((from_s, flexion_deg));
    }

    /// Whether the pelvis ever goes along.
    pub(crate) const fn any(&self) -> bool {
        !self.0.is_empty()
    }

    /// Forward tilt, degrees, at a time and knee flexion (degrees), `slope` degrees per degree
    /// beyond the onset; none before one is set.
    pub(crate) fn tilt_deg(&self, time_s: f64, knee_flexion_deg: Jet, slope: f64) -> Jet {
        let begun = self.0.partition_point(|(from_s, _)| *from_s <= time_s);
        let last_begun = begun.checked_sub(1).and_then(|place| self.0.get(place));
        last_begun.map_or_else(Jet::default, |(_, onset_deg)| {
            beyond(knee_flexion_deg + Jet::still(-onset_deg)) * slope
        })
    }
}

/// `max(0, x)` with its corner rounded within ±[`HALF_ONSET_DEG`]: there the slope goes from 0 to 1
/// as `3s² − 2s³`, so that rate and acceleration have no step. Outside it is exact.
fn beyond(x: Jet) -> Jet {
    let width = 2.0 * HALF_ONSET_DEG;
    let s = ((x.value + HALF_ONSET_DEG) / width).clamp(0.0, 1.0);
    let value = if s < 1.0 { width * s * s * s * (1.0 - s / 2.0) } else { x.value };
    let slope = s * s * (3.0 - 2.0 * s);
    let bend = 6.0 * s * (1.0 - s) / width;
    Jet { value, rate: slope * x.rate, accel: slope * x.accel + bend * x.rate * x.rate }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tilt_grows_in_proportion_from_the_onset_on() {
        let mut onsets = Onsets::default();
        let tilt = |onsets: &Onsets, time_s, flexion| {
            onsets.tilt_deg(time_s, Jet::still(flexion), 0.3).value
        };
        assert_eq!(tilt(&onsets, 5.0, 140.0), 0.0);
        onsets.set(1.0, 105.0);
        onsets.set(9.0, 110.0);
        assert_eq!(tilt(&onsets, 5.0, 104.2), 0.0);
        assert!((tilt(&onsets, 5.0, 115.0) - 3.0).abs() < 1e-12);
        assert!((tilt(&onsets, 10.0, 115.0) - 1.5).abs() < 1e-12);
        let at_onset = tilt(&onsets, 5.0, 105.0);
        assert!(at_onset > 0.0 && at_onset < 0.1, "{at_onset}");
    }

    #[test]
    fn derivatives_agree_with_differences_and_have_no_step() {
        let knee = |t: f64| Jet { value: 100.0 + 8.0 * t + t * t, rate: 8.0 + 2.0 * t, accel: 2.0 };
        let mut onsets = Onsets::default();
        onsets.set(0.0, 105.0);
        let of = |t: f64| onsets.tilt_deg(t, knee(t), 0.3);
        let h = 1e-5;
        for n in 1..200 {
            let t = f64::from(n) * 0.01;
            let (before, now, after) = (of(t - h), of(t), of(t + h));
            assert!(((after.value - before.value) / (2.0 * h) - now.rate).abs() < 1e-6, "{t}");
            assert!(((after.rate - before.rate) / (2.0 * h) - now.accel).abs() < 1e-2, "{t}");
        }
    }
}
