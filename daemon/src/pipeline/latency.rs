//! How long it takes from a notification to the disk and to the page.

use hdrhistogram::Histogram;

/// Latencies of one way, from a microsecond to a minute.
#[derive(Debug)]
pub(super) struct Latency {
    /// What is measured, for the log.
    way: &'static str,
    /// `None` only if the bounds below were impossible.
    micros: Option<Histogram<u64>>,
}

/// Longer ones count as this, µs.
const LONGEST_US: u64 = 60_000_000;

impl Latency {
    pub(super) fn new(way: &'static str) -> Self {
        Self { way, micros: Histogram::new_with_bounds(1, LONGEST_US, 3).ok() }
    }

    /// Counts one, s.
    pub(super) fn record(&mut self, latency_s: f64) {
        if let Some(micros) = &mut self.micros {
            // The cast saturates, which is what is wanted at both ends.
            micros.saturating_record((latency_s * 1e6) as u64);
        }
    }

    /// Writes the summary to the log.
    pub(super) fn log(&self) {
        let Some(micros) = self.micros.as_ref().filter(|micros| !micros.is_empty()) else {
            return;
        };
        let ms = |quantile| micros.value_at_quantile(quantile) as f64 / 1e3;
        tracing::info!(
            way = self.way,
            count = micros.len(),
            p50_ms = ms(0.5),
            p99_ms = ms(0.99),
            max_ms = micros.max() as f64 / 1e3,
            "latency"
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_recorded_is_counted_within_a_thousandth() {
        let mut latency = Latency::new("test");
        for ms in 1..=100 {
            latency.record(f64::from(ms) * 1e-3);
        }
        latency.record(1e9);
        latency.record(-1.0);
        let micros = latency.micros.unwrap();
        assert_eq!(micros.len(), 102);
        let median_ms = micros.value_at_quantile(0.5) as f64 / 1e3;
        assert!((49.0..=51.0).contains(&median_ms), "{median_ms}");
        // The bucket that holds the longest.
        assert!(micros.max() >= LONGEST_US);
    }
}
