//! The field hazards of time, order and delivery, each with its numbers.

mod delivery;
mod epochs;
mod numbers;
mod order;
mod split;
mod timing;

use super::*;
use crate::frame::Outgoing;
use crate::sample::{Flags, Values};

/// A profile that sends one sample a notification, with an 8-bit counter and nothing else.
const COUNTER_ONLY: &str = r#"
name = "counter only"
rate_hz = 100
[match]
name_prefix = "C"
[[stream]]
characteristic = "00000000-0000-0000-0000-000000000001"
endian = "little"
samples = { at = 1, size = 12, fixed = 1 }
counter = { at = 0, type = "u8" }
accel = { at = 0, type = "i16", unit = "g", scale = 0.001 }
gyro = { at = 6, type = "i16", unit = "deg/s", scale = 0.0625 }
"#;

fn counter_only() -> Profile {
    Profile::parse("counter-only.toml", COUNTER_ONLY).unwrap()
}

/// At rest, the sensor's x axis up, but for the given rate about z.
fn turning(rate_deg_s: f64) -> Values {
    Values {
        accel_m_s2: [9.806_65, 0.0, 0.0],
        gyro_rad_s: [0.0, 0.0, rate_deg_s.to_radians()],
        flags: Flags::default(),
    }
}

/// A stream and all it has said.
struct Bench {
    profile: Profile,
    stream: SensorStream,
    out: Vec<Output>,
}

impl Bench {
    fn new(profile: Profile) -> Self {
        Self { stream: SensorStream::new(&profile), profile, out: Vec::new() }
    }

    fn reference() -> Self {
        Self::new(Profile::reference())
    }

    /// One notification of every stream of the profile.
    fn hear(&mut self, arrival_s: f64, counter: u64, ticks: u64, samples: &[Values]) {
        for layout in self.profile.streams().to_vec() {
            let mut bytes = Vec::new();
            layout.encode(&Outgoing { counter, ticks, samples }, &mut bytes).unwrap();
            self.stream.push(arrival_s, layout.characteristic(), &bytes, &mut self.out);
        }
    }

    /// One sample in one notification, its clock 10 ms a sample, arriving at its time.
    fn on_time(&mut self, counter: u64) {
        self.hear(counter as f64 * 0.01, counter, counter * 10_000, &[turning(0.0)]);
    }

    fn bytes(&mut self, arrival_s: f64, bytes: &[u8]) {
        let characteristic = self.profile.streams()[0].characteristic();
        self.stream.push(arrival_s, characteristic, bytes, &mut self.out);
    }

    fn readings(&self) -> Vec<Reading> {
        let reading = |output: &Output| match output {
            Output::Reading(reading) => Some(*reading),
            _ => None,
        };
        self.out.iter().filter_map(reading).collect()
    }

    fn gaps(&self) -> Vec<Gap> {
        let gap = |output: &Output| match output {
            Output::Gap(gap) => Some(*gap),
            _ => None,
        };
        self.out.iter().filter_map(gap).collect()
    }

    fn numbers(&self) -> Vec<u64> {
        self.readings().iter().map(|reading| reading.counter).collect()
    }

    fn times(&self) -> Vec<f64> {
        self.readings().iter().map(|reading| reading.sample.time_s).collect()
    }

    fn spacings(&self) -> Vec<f64> {
        self.times().windows(2).map(|pair| pair[1] - pair[0]).collect()
    }

    /// What the gyroscope's z turns through, deg: each rate over the time since the sample before.
    fn turned_deg(&self) -> f64 {
        self.readings()
            .windows(2)
            .map(|pair| {
                let step_s = pair[1].sample.time_s - pair[0].sample.time_s;
                pair[1].sample.gyro_rad_s[2].to_degrees() * step_s
            })
            .sum()
    }
}

/// A small seeded generator of numbers in 0..1 (xorshift64, Marsaglia 2003).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}
