//! Rests: stretches in which a sensor lies on something and nobody touches it.
//!
//! Stricter than a still moment of a held limb: a hand trembles, a table does not.

use endarc_protocol::sample::Sample;
use nalgebra::Vector3;

/// A stretch in which the sensor lay still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// When it began, s.
    pub start_s: f64,
    /// Its last sample, s.
    pub end_s: f64,
    /// How many samples it has; at least one.
    pub count: usize,
    /// Mean specific force, m/s², as it was read.
    pub force_m_s2: Vector3<f64>,
    /// Standard deviation of the force on one axis (root mean square of the three), m/s².
    pub force_sd_m_s2: f64,
    /// Mean angular rate, rad/s, as it was read.
    pub rate_rad_s: Vector3<f64>,
    /// Standard deviation of the rate on one axis (root mean square of the three), rad/s.
    pub rate_sd_rad_s: f64,
}

impl Rest {
    /// How long it lasted, s.
    #[must_use]
    pub fn duration_s(&self) -> f64 {
        self.end_s - self.start_s
    }

    /// Where the upward vertical shows (unit, sensor frame), as it was read.
    #[must_use]
    pub fn up(&self) -> Vector3<f64> {
        self.force_m_s2.try_normalize(0.0).unwrap_or_else(Vector3::z)
    }
}

/// The rests of a recording, by time.
#[must_use]
pub fn rests(samples: &[Sample]) -> Vec<Rest> {
    let mut finder = RestFinder::default();
    let mut found: Vec<Rest> = samples.iter().filter_map(|sample| finder.push(sample)).collect();
    found.extend(finder.finish());
    found
}

/// Finds rests while samples come.
#[derive(Debug, Clone, Default)]
pub struct RestFinder {
    window: Vec<Sample>,
    current: Option<Sums>,
    seen: Option<Window>,
}

/// What the newest whole window of samples showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Whether the sensor lay still.
    pub still: bool,
    /// Mean specific force, m/s², as it was read.
    pub force_m_s2: Vector3<f64>,
    /// How long the window was, s.
    pub duration_s: f64,
}

impl RestFinder {
    /// Takes the next sample (finite ones only count); gives a rest that has just ended.
    pub fn push(&mut self, sample: &Sample) -> Option<Rest> {
        if !sample.is_finite() {
            return None;
        }
        let hole = |last: &Sample| sample.time_s - last.time_s > LONGEST_SPACING_S;
        let mut ended = None;
        if self.window.last().is_some_and(hole) {
            ended = self.finish();
        }
        self.window.push(*sample);
        let begin_s = self.window.first().map_or(sample.time_s, |first| first.time_s);
        if sample.time_s - begin_s < WINDOW_S {
            return ended;
        }
        let sums = Sums::of(&self.window);
        let still = self.window.len() >= LEAST_SAMPLES && is_still(&self.window, &sums);
        let duration_s = sample.time_s - begin_s;
        self.seen = Some(Window { still, force_m_s2: sums.force.mean(sums.count), duration_s });
        self.window.clear();
        let before = self.take(still.then_some(sums));
        ended.or(before)
    }

    /// Nothing comes any more: gives the rest that was going on.
    pub fn finish(&mut self) -> Option<Rest> {
        self.window.clear();
        self.current.take().map(|sums| sums.rest())
    }

    /// The rest that is going on.
    #[must_use]
    pub fn current(&self) -> Option<Rest> {
        self.current.as_ref().map(Sums::rest)
    }

    /// What the newest whole window showed; `None` before the first.
    #[must_use]
    pub const fn window(&self) -> Option<&Window> {
        self.seen.as_ref()
    }

    /// Goes on with a window that was still, or ends the rest.
    fn take(&mut self, still: Option<Sums>) -> Option<Rest> {
        match (self.current.take(), still) {
            (Some(current), Some(window)) if current.continues_in(&window) => {
                self.current = Some(current.and(window));
                None
            }
            (current, window) => {
                self.current = window;
                current.map(|sums| sums.rest())
            }
        }
    }
}

/// Whether a window's scatter, and its halves, say that nothing moved.
fn is_still(window: &[Sample], sums: &Sums) -> bool {
    let (first, second) = window.split_at(window.len() / 2);
    let force = |part: &[Sample]| {
        let part = Sums::of(part);
        part.force.mean(part.count)
    };
    let turned = force(first).angle(&force(second));
    let rest = sums.rest();
    rest.rate_sd_rad_s < STILL_RATE_SD_RAD_S
        && rest.force_sd_m_s2 < STILL_FORCE_SD_M_S2
        && rest.rate_rad_s.norm() < LARGEST_OFFSET_RAD_S
        && turned < STILL_TURN_RAD
}

/// Sum and sum of squares of a vector.
#[derive(Debug, Clone, Copy, Default)]
struct Moments {
    sum: Vector3<f64>,
    squares: f64,
}

impl Moments {
    fn add(&mut self, value: Vector3<f64>) {
        self.sum += value;
        self.squares += value.norm_squared();
    }

    fn and(self, other: Self) -> Self {
        Self { sum: self.sum + other.sum, squares: self.squares + other.squares }
    }

    fn mean(&self, count: usize) -> Vector3<f64> {
        self.sum / count.max(1) as f64
    }

    /// Root mean square over the three axes of their standard deviations.
    fn sd(&self, count: usize) -> f64 {
        let mean_square = self.squares / count.max(1) as f64;
        ((mean_square - self.mean(count).norm_squared()) / 3.0).max(0.0).sqrt()
    }
}

/// A stretch of samples as its sums.
#[derive(Debug, Clone, Copy)]
struct Sums {
    start_s: f64,
    end_s: f64,
    count: usize,
    force: Moments,
    rate: Moments,
}

impl Sums {
    fn of(samples: &[Sample]) -> Self {
        let time_s = |sample: Option<&Sample>| sample.map_or(0.0, |sample| sample.time_s);
        let mut sums = Self {
            start_s: time_s(samples.first()),
            end_s: time_s(samples.last()),
            count: samples.len(),
            force: Moments::default(),
            rate: Moments::default(),
        };
        for sample in samples {
            sums.force.add(Vector3::from(sample.accel_m_s2));
            sums.rate.add(Vector3::from(sample.gyro_rad_s));
        }
        sums
    }

    /// Whether the sensor still lies as it did.
    fn continues_in(&self, next: &Self) -> bool {
        let (before, after) = (self.force.mean(self.count), next.force.mean(next.count));
        before.angle(&after) < STILL_TURN_RAD
    }

    fn and(self, next: Self) -> Self {
        Self {
            start_s: self.start_s,
            end_s: next.end_s,
            count: self.count + next.count,
            force: self.force.and(next.force),
            rate: self.rate.and(next.rate),
        }
    }

    fn rest(&self) -> Rest {
        Rest {
            start_s: self.start_s,
            end_s: self.end_s,
            count: self.count,
            force_m_s2: self.force.mean(self.count),
            force_sd_m_s2: self.force.sd(self.count),
            rate_rad_s: self.rate.mean(self.count),
            rate_sd_rad_s: self.rate.sd(self.count),
        }
    }
}

const WINDOW_S: f64 = 0.5;
// Half a second at 20 Hz, the slowest rate in use.
const LEAST_SAMPLES: usize = 8;
const LONGEST_SPACING_S: f64 = 0.25;
// Well above the noise of a cheap sensor (0.3 °/s and 0.05 m/s² a sample), below the tremor of a
// hand (common practice: some degrees a second).
const STILL_RATE_SD_RAD_S: f64 = 1.0_f64.to_radians();
const STILL_FORCE_SD_M_S2: f64 = 0.12;
// A slow turn that gravity sees; one about the vertical shows as a rate that differs between rests.
const STILL_TURN_RAD: f64 = 0.5_f64.to_radians();
// The largest offset of a gyroscope that is taken for one: a cheap part has up to some 10 °/s
// (from memory of data sheets).
const LARGEST_OFFSET_RAD_S: f64 = 12.0_f64.to_radians();

#[cfg(test)]
mod tests {
    use super::*;

    fn lying(from_s: f64, to_s: f64, force: [f64; 3], rate: [f64; 3]) -> Vec<Sample> {
        let (from, to) = ((from_s * 100.0) as i32, (to_s * 100.0) as i32);
        (from..to)
            .map(|n| {
                // A little noise that is the same in every run.
                let noise = 0.02 * f64::from(n * 7919 % 13 - 6) / 6.0;
                Sample {
                    time_s: f64::from(n) / 100.0,
                    accel_m_s2: force.map(|value| value + noise),
                    gyro_rad_s: rate.map(|value| value + 0.1 * noise),
                    ..Sample::default()
                }
            })
            .collect()
    }

    fn carried(from_s: f64, to_s: f64) -> Vec<Sample> {
        let mut samples = lying(from_s, to_s, [0.0, 0.0, 9.81], [0.0; 3]);
        for sample in &mut samples {
            let phase = 9.0 * sample.time_s;
            sample.gyro_rad_s = [0.2 * phase.sin(), 0.1 * phase.cos(), 0.0];
        }
        samples
    }

    #[test]
    fn a_rest_is_what_lies_between_two_movements() {
        let samples = [
            carried(0.0, 2.0),
            lying(2.0, 6.0, [0.1, 0.2, 9.8], [0.01, 0.0, 0.0]),
            carried(6.0, 8.0),
            lying(8.0, 11.0, [9.7, 0.0, 0.3], [0.01, 0.0, 0.0]),
        ];
        let found = rests(&samples.concat());
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].start_s >= 1.5 && found[0].end_s <= 6.5 && found[0].duration_s() > 3.0);
        assert!((found[0].force_m_s2 - Vector3::new(0.1, 0.2, 9.8)).norm() < 0.02);
        assert!((found[1].rate_rad_s.x - 0.01).abs() < 1e-3);
    }

    #[test]
    fn a_sensor_that_is_laid_another_way_begins_another_rest() {
        let samples = [
            lying(0.0, 3.0, [0.0, 0.0, 9.8], [0.0; 3]),
            lying(3.0, 6.0, [0.0, 9.8, 0.0], [0.0; 3]),
        ];
        assert_eq!(rests(&samples.concat()).len(), 2);
    }

    #[test]
    fn a_slow_turn_is_no_rest() {
        let samples: Vec<Sample> = (0..1000)
            .map(|n| {
                let time_s = f64::from(n) / 100.0;
                let angle = 3.0_f64.to_radians() * time_s;
                Sample {
                    time_s,
                    accel_m_s2: [9.8 * angle.sin(), 0.0, 9.8 * angle.cos()],
                    gyro_rad_s: [0.0, 3.0_f64.to_radians(), 0.0],
                    ..Sample::default()
                }
            })
            .collect();
        assert_eq!(rests(&samples), []);
    }
}
