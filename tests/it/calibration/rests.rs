//! Recordings of a sensor that lies about, with errors that are known. Shares no code with the
//! project's own simulator.

use std::path::{Path, PathBuf};

use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;

/// Standard gravity, m/s² (CGPM 1901).
pub(super) const GRAVITY_M_S2: f64 = 9.806_65;

/// The six faces: the direction that is up, in the order x, −x, y, −y, z, −z.
pub(super) const FACES: [[f64; 3]; 6] = [
    [1.0, 0.0, 0.0],
    [-1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0],
    [0.0, -1.0, 0.0],
    [0.0, 0.0, 1.0],
    [0.0, 0.0, -1.0],
];

/// Numbers that look random and are the same in every run (Park & Miller's generator).
pub(super) struct Chance(pub(super) u64);

impl Chance {
    /// About normal, mean 0, standard deviation 1 (the sum of twelve uniform numbers).
    pub(super) fn normal(&mut self) -> f64 {
        let mut sum = -6.0;
        for _ in 0..12 {
            self.0 = self.0 * 48_271 % 0x7fff_ffff;
            sum += self.0 as f64 / f64::from(0x7fff_ffff);
        }
        sum
    }
}

/// What a sensor makes of what it feels: `gain · felt + offset`, with noise.
#[derive(Clone, Copy)]
pub(super) struct Sensor {
    pub(super) gain: [[f64; 3]; 3],
    pub(super) accel_offset_m_s2: [f64; 3],
    pub(super) gyro_offset_rad_s: [f64; 3],
}

/// A cheap one: 30 mg, 2 %, 1 °/s.
pub(super) const CHEAP: Sensor = Sensor {
    gain: [[1.02, 0.0, 0.0], [0.0, 0.985, 0.0], [0.0, 0.0, 1.01]],
    accel_offset_m_s2: [0.21, -0.30, 0.17],
    gyro_offset_rad_s: [0.017, -0.012, 0.008],
};

impl Sensor {
    /// A reading of what is really felt.
    pub(super) fn read(&self, felt: [f64; 3], turning: [f64; 3]) -> ([f64; 3], [f64; 3]) {
        let accel = std::array::from_fn(|row| {
            let sum: f64 = (0..3).map(|column| self.gain[row][column] * felt[column]).sum();
            sum + self.accel_offset_m_s2[row]
        });
        (accel, std::array::from_fn(|axis| turning[axis] + self.gyro_offset_rad_s[axis]))
    }
}

/// A recording at 100 Hz that is being made.
pub(super) struct Recording {
    sensor: Sensor,
    chance: Chance,
    pub(super) samples: Vec<Sample>,
}

impl Recording {
    pub(super) fn new(sensor: Sensor, seed: u64) -> Self {
        Self { sensor, chance: Chance(seed), samples: Vec::new() }
    }

    /// The sensor lies with `up` (any length) on top.
    pub(super) fn lie(&mut self, up: [f64; 3], lasts_s: f64) {
        let length = up.iter().map(|part| part * part).sum::<f64>().sqrt();
        let felt = up.map(|part| part / length * GRAVITY_M_S2);
        self.go_on(lasts_s, |_| (felt, [0.0; 3]));
    }

    /// It is turned by a full turn about an axis that points up, clockwise from above, in 4 s.
    pub(super) fn turn(&mut self, up: [f64; 3]) {
        let rate = -std::f64::consts::TAU / 4.0;
        self.go_on(4.0, |_| (up.map(|part| part * GRAVITY_M_S2), up.map(|part| part * rate)));
    }

    /// It is carried about.
    pub(super) fn carry(&mut self, lasts_s: f64) {
        self.go_on(lasts_s, |s| {
            let sway = (7.0 * s).sin();
            ([2.0 * sway, 3.0 * (5.0 * s).cos(), 8.0], [1.5 * sway, 0.7, -sway])
        });
    }

    fn go_on(&mut self, lasts_s: f64, felt: impl Fn(f64) -> ([f64; 3], [f64; 3])) {
        for n in 0..(lasts_s * 100.0).round() as u32 {
            let (force, rate) = felt(f64::from(n) / 100.0);
            let (accel, gyro) = self.sensor.read(force, rate);
            let time_s = self.samples.len() as f64 / 100.0;
            let chance = &mut self.chance;
            self.samples.push(Sample {
                time_s,
                accel_m_s2: accel.map(|value| value + 0.02 * chance.normal()),
                gyro_rad_s: gyro.map(|value| value + 0.001 * chance.normal()),
                ..Sample::default()
            });
        }
    }

    pub(super) fn write(&self, path: PathBuf) -> PathBuf {
        write(&path, &self.samples);
        path
    }
}

/// Writes a Motion CSV.
pub(super) fn write(path: &Path, samples: &[Sample]) {
    let file = std::fs::File::create(path).unwrap();
    motion_csv::write(std::io::BufWriter::new(file), samples.iter().copied()).unwrap();
}

/// Six rests, each laid down so many degrees off by hand, carried in between.
pub(super) fn six(sensor: Sensor, askew_deg: f64, seed: u64) -> Recording {
    let mut recording = Recording::new(sensor, seed);
    let mut hand = Chance(seed + 1);
    for face in FACES {
        let askew = askew_deg.to_radians().tan();
        recording.carry(2.0);
        recording.lie(face.map(|part| part + askew * hand.normal() / 1.5), 5.0);
    }
    recording.carry(1.0);
    recording
}
