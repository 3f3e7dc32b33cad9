//! The sensor's own time of each sample: its counter and its timestamps, smoothed into one line.

/// Follows the line from sample counter to the sensor's own clock.
///
/// Timestamps are coarse (a millisecond, say) or taken a little early or late; the counter is not.
/// The line is fitted to all samples so far at first, then it forgets: the growing- and
/// fading-memory alpha-beta filter (E. Brookner, Tracking and Kalman Filtering Made Easy, 1998;
/// gains from memory, checked by the tests against least squares).
#[derive(Debug, Clone, Copy)]
pub struct SensorTime {
    counter: u64,
    sensor_s: f64,
    period_s: f64,
    nominal_s: f64,
    measurements: u32,
}

/// The share of a new timestamp's deviation that is taken over once the line is known.
const SMALLEST_ALPHA: f64 = 0.1;

/// The same for the period: critically damped for that alpha, alpha²/(2 - alpha).
const SMALLEST_BETA: f64 = 0.005;

/// A timestamp further off than this, and than three periods, is not a coarse one: the sensor
/// paused.
const PAUSE_S: f64 = 0.05;

impl SensorTime {
    /// Starts at a counter and the sensor's time there; `nominal_s` is the nominal period.
    #[must_use]
    pub const fn start(counter: u64, sensor_s: f64, nominal_s: f64) -> Self {
        Self { counter, sensor_s, period_s: nominal_s, nominal_s, measurements: 1 }
    }

    /// The sensor's time at a counter, s.
    #[must_use]
    pub fn at(&self, counter: u64) -> f64 {
        let steps = if counter >= self.counter {
            (counter - self.counter) as f64
        } else {
            -((self.counter - counter) as f64)
        };
        self.sensor_s + steps * self.period_s
    }

    /// The period, s by the sensor's own clock.
    #[must_use]
    pub const fn period_s(&self) -> f64 {
        self.period_s
    }

    /// Whether enough timestamps were learnt to tell the period.
    #[must_use]
    pub const fn is_measured(&self) -> bool {
        self.measurements >= 20
    }

    /// Learns a timestamp of a counter that is later than all before; others are ignored.
    pub fn learn(&mut self, counter: u64, timestamp_s: f64) {
        if counter <= self.counter {
            return;
        }
        let steps = (counter - self.counter) as f64;
        let expected_s = self.at(counter);
        let error_s = timestamp_s - expected_s;
        self.counter = counter;
        if error_s.abs() > PAUSE_S.max(3.0 * self.period_s) {
            self.sensor_s = timestamp_s;
            return;
        }
        self.measurements = self.measurements.saturating_add(1);
        let n = f64::from(self.measurements);
        let alpha = (2.0 * (2.0 * n - 1.0) / (n * (n + 1.0))).clamp(SMALLEST_ALPHA, 1.0);
        let beta = (6.0 / (n * (n + 1.0))).clamp(SMALLEST_BETA, 1.0);
        self.sensor_s = expected_s + alpha * error_s;
        let period_s = self.period_s + beta * error_s / steps;
        self.period_s = period_s.clamp(0.25 * self.nominal_s, 4.0 * self.nominal_s);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H03: declared 100 Hz, really 104 Hz, timestamps in whole milliseconds.
    #[test]
    fn coarse_timestamps_give_the_true_period() {
        let mut time = SensorTime::start(0, 0.0, 0.01);
        for counter in 1..=1040_u64 {
            let true_s = counter as f64 / 104.0;
            time.learn(counter, (true_s * 1000.0).floor() / 1000.0);
            if counter > 100 {
                // The stamps are half a millisecond early on average.
                assert!((time.at(counter) + 0.0005 - true_s).abs() < 0.0004, "{counter}");
            }
        }
        assert!((1.0 / time.period_s() - 104.0).abs() < 0.5);
    }

    /// While it grows, the memory is a least-squares line: here of the points 0, 1, 2, 4.
    #[test]
    fn the_first_samples_are_a_least_squares_line() {
        let mut time = SensorTime::start(0, 0.0, 1.0);
        for (counter, stamp) in [(1, 1.0), (2, 2.0), (3, 4.0)] {
            time.learn(counter, stamp);
        }
        // By hand: slope 1.3, value at 3 is 1.75 + 1.3 * 1.5 = 3.7.
        assert!((time.period_s() - 1.3).abs() < 1e-12);
        assert!((time.at(3) - 3.7).abs() < 1e-12);
    }

    #[test]
    fn a_pause_of_the_sensor_is_taken_over_at_once() {
        let mut time = SensorTime::start(0, 0.0, 0.01);
        for counter in 1..100 {
            time.learn(counter, counter as f64 * 0.01);
        }
        time.learn(100, 3.0);
        assert_eq!(time.at(100), 3.0);
        assert!((time.period_s() - 0.01).abs() < 1e-6);
    }
}
