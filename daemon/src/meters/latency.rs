//! How long it takes from a notification to here.

use hdrhistogram::Histogram;

use super::shapes::{Way, WayLatency};

/// Latencies of one way, from a microsecond to a minute.
#[derive(Debug)]
pub(super) struct Latency {
    way: Way,
    /// `None` only if the bounds below were impossible.
    micros: Option<Histogram<u64>>,
}

/// Longer ones count as this, µs.
const LONGEST_US: u64 = 60_000_000;

impl Latency {
    /// Nothing is counted yet; all the room it will need is taken now.
    pub(super) fn new(way: Way) -> Self {
        Self { way, micros: Histogram::new_with_bounds(1, LONGEST_US, 3).ok() }
    }

    /// Counts one, s.
    pub(super) fn record(&mut self, latency_s: f64) {
        if let Some(micros) = &mut self.micros {
            // The cast saturates, which is what is wanted at both ends.
            micros.saturating_record((latency_s * 1e6) as u64);
        }
    }

    /// What was counted so far.
    pub(super) fn told(&self) -> WayLatency {
        let counted = self.micros.as_ref().filter(|micros| !micros.is_empty());
        let ms = |of: fn(&Histogram<u64>) -> u64| counted.map(|micros| of(micros) as f64 / 1e3);
        WayLatency {
            way: self.way,
            count: counted.map_or(0, Histogram::len),
            p50_ms: ms(|micros| micros.value_at_quantile(0.5)),
            p99_ms: ms(|micros| micros.value_at_quantile(0.99)),
            max_ms: ms(Histogram::max),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_recorded_is_counted_within_a_thousandth() {
        let mut latency = Latency::new(Way::Decoded);
        assert_eq!(latency.told().p99_ms, None);
        for ms in 1..=100 {
            latency.record(f64::from(ms) * 1e-3);
        }
        latency.record(1e9);
        latency.record(-1.0);
        let told = latency.told();
        assert_eq!(told.count, 102);
        let median_ms = told.p50_ms.unwrap();
        assert!((49.0..=51.0).contains(&median_ms), "{median_ms}");
        // The bucket that holds the longest.
        assert!(told.max_ms.unwrap() >= 60_000.0);
    }
}
