//! A sensor's own clock, which runs a little fast or slow and began some time before the visit.

/// Relates a sensor's clock to visit time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SensorClock {
    /// What the clock reads at visit time zero, s.
    offset_s: f64,
    /// Seconds of the sensor's per second of the visit.
    pace: f64,
    /// The sensor's time from visit time zero to the first sample, s.
    first_s: f64,
    /// The sensor's time from one sample to the next, s.
    period_s: f64,
}

/// When one sample is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Moment {
    /// On the common clock, s of visit time.
    pub(crate) visit_s: f64,
    /// On the sensor's clock, s since visit time zero.
    pub(crate) elapsed_s: f64,
    /// What the sensor's clock reads, s.
    pub(crate) reading_s: f64,
}

impl SensorClock {
    /// A clock that is `ppm` parts per million fast. `phase` (0 to 1) is the part of a period at
    /// which the first sample falls: sensors do not sample in step.
    pub(crate) fn new(rate_hz: f64, ppm: f64, offset_s: f64, phase: f64) -> Self {
        let period_s = 1.0 / rate_hz;
        Self { offset_s, pace: 1.0 + ppm * 1e-6, first_s: phase * period_s, period_s }
    }

    /// How many samples are taken up to a visit time.
    pub(crate) fn samples_until(&self, visit_s: f64) -> u64 {
        let periods = (visit_s * self.pace - self.first_s) / self.period_s;
        // From float to integer saturates, so a time before the first sample gives none.
        libm::floor(periods + 1.0) as u64
    }

    /// When the sample with this number, counted from 0, is taken.
    pub(crate) fn moment(&self, number: u64) -> Moment {
        let elapsed_s = self.first_s + number as f64 * self.period_s;
        Moment { visit_s: elapsed_s / self.pace, elapsed_s, reading_s: self.offset_s + elapsed_s }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fast_clock_samples_too_often_and_reads_too_much() {
        let clock = SensorClock::new(100.0, 100.0, 5.0, 0.5);
        let first = clock.moment(0);
        assert!((first.elapsed_s - 0.005).abs() < 1e-12);
        // 100 ppm over half an hour are 180 ms.
        let late = clock.moment(180_000);
        assert!((late.elapsed_s - late.visit_s - 0.18).abs() < 1e-4);
        assert_eq!(clock.samples_until(late.visit_s + 0.001), 180_001);
        assert_eq!(clock.samples_until(0.001), 0);
        assert!((late.reading_s - late.elapsed_s - 5.0).abs() < 1e-9);
    }
}
