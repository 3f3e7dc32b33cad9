//! The line under all arrivals: offset and skew of a sensor's clock against the host's.
//!
//! The lowest arrival of each short span of time is kept, for the last minutes. The line is
//! the one below all of these that is nearest to them on average, i.e. the edge of their lower
//! convex hull at their mean time (Moon, Skelly and Towsley, Estimation and removal of clock skew
//! from network delay measurements, INFOCOM 1999).

/// How far a sensor's clock may be off, and when that can be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The slope assumed until one is measured: host seconds per sensor second.
    pub prior_slope: f64,
    /// The slope may differ from 1 by this; a fit beyond is not applied.
    pub largest_skew: f64,
    /// A slope is not measured over less than this, s.
    pub shortest_span_s: f64,
    /// Delays may vary by so much that a short span's slope says nothing: a slope that differs
    /// from the prior by less than this over the span is not applied during the first 20 s, s.
    pub delay_spread_s: f64,
    /// How far back arrivals count, s. Long, and the chance patterns of delivery average out;
    /// short, and a rate that changes with temperature is followed.
    pub memory_s: f64,
}

/// After this span the slope is taken as measured, s.
const KNOWN_AFTER_S: f64 = 20.0;

impl Limits {
    /// For a sensor that sends its own time, which may be `tolerance_ppm` off.
    #[must_use]
    pub const fn of_timestamps(tolerance_ppm: f64) -> Self {
        Self {
            prior_slope: 1.0,
            largest_skew: tolerance_ppm * 1e-6,
            shortest_span_s: KNOWN_AFTER_S,
            delay_spread_s: 0.0,
            memory_s: 256.0,
        }
    }

    /// For a sensor that only counts samples: its time is the counter over the nominal rate, and
    /// the true rate of a cheap sensor may be some percent off (common practice); 10 % at most.
    #[must_use]
    pub const fn of_counter() -> Self {
        Self {
            prior_slope: 1.0,
            largest_skew: 0.1,
            shortest_span_s: 2.0,
            delay_spread_s: 0.04,
            memory_s: 128.0,
        }
    }
}

/// One arrival, relative to the first one.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Arrival {
    sensor_s: f64,
    host_s: f64,
}

impl Arrival {
    /// How late it is for a clock of this slope, from an arbitrary zero, s.
    fn delay_s(self, slope: f64) -> f64 {
        self.host_s - slope * self.sensor_s
    }
}

/// The lower envelope of arrivals over sensor time.
#[derive(Debug, Clone)]
pub struct Envelope {
    limits: Limits,
    origin: Option<Arrival>,
    /// The lowest arrival of each bucket, oldest first.
    lowest: Vec<Arrival>,
    bucket_s: f64,
    slope: f64,
    /// Host time, relative to the origin, at the origin's sensor time.
    offset_s: f64,
    measured: bool,
    rejected: bool,
    /// Scratch for the hull, kept so that nothing is allocated in the long run.
    hull: Vec<Arrival>,
}

/// Buckets kept; when they are full, two become one until they span the memory, and then the
/// oldest goes.
const BUCKETS: usize = 64;
const FIRST_BUCKET_S: f64 = 1.0 / 16.0;

/// While the fit is refused, only as many of the latest buckets tell the offset.
const RECENT_BUCKETS: usize = 4;

impl Envelope {
    /// Nothing is known yet.
    #[must_use]
    pub fn new(limits: Limits) -> Self {
        Self {
            limits,
            origin: None,
            lowest: Vec::with_capacity(BUCKETS + 1),
            bucket_s: FIRST_BUCKET_S,
            slope: limits.prior_slope,
            offset_s: 0.0,
            measured: false,
            rejected: false,
            hull: Vec::with_capacity(BUCKETS + 1),
        }
    }

    /// Takes an arrival into account; one that is not finite says nothing.
    pub fn add(&mut self, sensor_s: f64, arrival_s: f64) {
        if !(sensor_s.is_finite() && arrival_s.is_finite()) {
            return;
        }
        let here = Arrival { sensor_s, host_s: arrival_s };
        let origin = *self.origin.get_or_insert(here);
        let arrival =
            Arrival { sensor_s: sensor_s - origin.sensor_s, host_s: arrival_s - origin.host_s };
        let bucket = (arrival.sensor_s / self.bucket_s).floor();
        match self.lowest.last_mut() {
            Some(last) if bucket < (last.sensor_s / self.bucket_s).floor() => return,
            Some(last) if bucket == (last.sensor_s / self.bucket_s).floor() => {
                if arrival.delay_s(self.slope) >= last.delay_s(self.slope) {
                    return;
                }
                *last = arrival;
            }
            _ => self.lowest.push(arrival),
        }
        if self.lowest.len() > BUCKETS {
            self.make_room();
        }
        self.fit();
    }

    /// The host time that belongs to a sensor time; `None` before the first arrival.
    #[must_use]
    pub fn host_s(&self, sensor_s: f64) -> Option<f64> {
        let origin = self.origin?;
        Some(origin.host_s + self.offset_s + self.slope * (sensor_s - origin.sensor_s))
    }

    /// Host seconds per sensor second.
    #[must_use]
    pub const fn slope(&self) -> f64 {
        self.slope
    }

    /// Whether the slope was measured, rather than assumed.
    #[must_use]
    pub const fn is_measured(&self) -> bool {
        self.measured
    }

    /// Whether the latest fit was beyond the limits and is not applied.
    #[must_use]
    pub const fn is_rejected(&self) -> bool {
        self.rejected
    }

    fn make_room(&mut self) {
        if self.bucket_s * BUCKETS as f64 >= self.limits.memory_s {
            self.lowest.remove(0);
            return;
        }
        self.bucket_s *= 2.0;
        let (bucket_s, slope) = (self.bucket_s, self.slope);
        self.lowest.dedup_by(|later, kept| {
            let same = (later.sensor_s / bucket_s).floor() == (kept.sensor_s / bucket_s).floor();
            if same && later.delay_s(slope) < kept.delay_s(slope) {
                *kept = *later;
            }
            same
        });
    }

    fn fit(&mut self) {
        let (Some(first), Some(last)) = (self.lowest.first(), self.lowest.last()) else { return };
        let span_s = last.sensor_s - first.sensor_s;
        self.rejected = false;
        if span_s >= self.limits.shortest_span_s
            && let Some(slope) = self.supporting_slope()
        {
            if (slope - 1.0).abs() > self.limits.largest_skew {
                self.rejected = true;
            } else if span_s >= KNOWN_AFTER_S
                || (slope - self.limits.prior_slope).abs() > self.limits.delay_spread_s / span_s
            {
                self.slope = slope;
                self.measured = true;
            }
        }
        let considered = if self.rejected { RECENT_BUCKETS } else { BUCKETS };
        self.offset_s = self
            .lowest
            .iter()
            .rev()
            .take(considered)
            .map(|arrival| arrival.delay_s(self.slope))
            .fold(f64::INFINITY, f64::min);
    }

    /// The slope of the lower hull's edge at the mean time.
    fn supporting_slope(&mut self) -> Option<f64> {
        self.hull.clear();
        for arrival in &self.lowest {
            while let [.., before, last] = self.hull.as_slice() {
                if slope(*before, *last) < slope(*last, *arrival) {
                    break;
                }
                self.hull.pop();
            }
            self.hull.push(*arrival);
        }
        let total_s: f64 = self.lowest.iter().map(|arrival| arrival.sensor_s).sum();
        let mean_s = total_s / self.lowest.len() as f64;
        self.hull
            .iter()
            .zip(self.hull.iter().skip(1))
            .find(|(_, end)| end.sensor_s >= mean_s)
            .map(|(start, end)| slope(*start, *end))
    }
}

fn slope(from: Arrival, to: Arrival) -> f64 {
    (to.host_s - from.host_s) / (to.sensor_s - from.sensor_s)
}
