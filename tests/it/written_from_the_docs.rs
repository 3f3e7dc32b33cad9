//! A profile that was written from `protocol/profiles/README.md` alone, for a layout that nothing in
//! the program was made for. The bytes are put together here, by hand, not by the simulator.

use std::fs;

use endarc_protocol::profile::Profile;
use endarc_protocol::stream::{Output, SensorStream};
use endarc_tests::binary::workspace;

const TICKS_PER_S: f64 = 32_768.0;
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

fn profile() -> Profile {
    let file = workspace().join("tests/profiles/two-characteristics.toml");
    let text = fs::read_to_string(&file).expect("the profile can be read");
    Profile::parse("two-characteristics.toml", &text).expect("the profile is right")
}

/// CRC-16/IBM-3740 bit by bit: polynomial 1021, start FFFF, nothing reflected or inverted (G. Cook's
/// catalogue of parametrised CRC algorithms, check value 29B1 for "123456789").
fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0xffff, |crc, byte| {
        (0..8).fold(crc ^ (u16::from(*byte) << 8), |crc, _| {
            if crc & 0x8000 == 0 { crc << 1 } else { (crc << 1) ^ 0x1021 }
        })
    })
}

/// A frame: what kind it is, the notification's number, the clock at its last sample, the samples.
fn frame(kind: u8, number: u16, last_s: f64, samples: &[u8]) -> Vec<u8> {
    let mut frame = vec![0x5a, kind];
    frame.extend(number.to_be_bytes());
    frame.extend(((last_s * TICKS_PER_S).round() as u32).to_be_bytes());
    frame.extend(samples);
    // The first byte is not covered.
    let crc = crc16(&frame[1..]);
    frame.extend(crc.to_be_bytes());
    frame
}

/// What the body feels at a time: specific force, m/s², and turn, rad/s, in the sensor's frame.
fn felt(time_s: f64) -> ([f64; 3], [f64; 3]) {
    let tilt = 0.7 * (1.3 * time_s).sin();
    let accel = [
        STANDARD_GRAVITY_M_S2 * tilt.sin(),
        0.4 * (5.0 * time_s).cos(),
        STANDARD_GRAVITY_M_S2 * tilt.cos(),
    ];
    (accel, [0.3, -0.7 * 1.3 * (1.3 * time_s).cos(), -2.5 * (0.4 * time_s).sin()])
}

fn accel_frame(number: u16, times_s: [f64; 3]) -> Vec<u8> {
    let mut samples = Vec::new();
    for time_s in times_s {
        let ([x, y, z], _) = felt(time_s);
        // The chip's axes lie so that frame x = −chip y, y = chip x, z = chip z, and it shows the
        // pull of gravity, opposite to the specific force.
        for axis in [-y, x, -z] {
            samples.extend(((axis / 0.00125).round() as i16).to_be_bytes());
        }
    }
    frame(1, number, times_s[2], &samples)
}

fn gyro_frame(number: u16, times_s: [f64; 3]) -> Vec<u8> {
    let mut samples = Vec::new();
    for time_s in times_s {
        let (_, [x, y, z]) = felt(time_s);
        for axis in [z, y, x] {
            let count = (axis / 2e-6).round() as i32;
            samples.extend(&count.to_be_bytes()[1..]);
        }
    }
    frame(2, number, times_s[2], &samples)
}

/// The three sample times of a notification, by the sensor's clock.
fn times_s(number: u16) -> [f64; 3] {
    [0, 1, 2].map(|within| (3.0 * f64::from(number) + f64::from(within)) / 100.0)
}

/// A stream and what it is fed by: accelerometer and gyroscope in a characteristic each.
struct Fed {
    profile: Profile,
    stream: SensorStream,
    out: Vec<Output>,
}

impl Fed {
    fn new() -> Self {
        let profile = profile();
        let characteristics: Vec<String> =
            profile.streams().iter().map(|one| one.characteristic().to_string()).collect();
        let of = |end| format!("8f0e6a52-3f0a-4d51-9a3f-6c3c5a0b7d1{end}");
        assert_eq!(characteristics, [of(1), of(2)]);
        Self { stream: SensorStream::new(&profile), profile, out: Vec::new() }
    }

    fn accel(&mut self, arrival_s: f64, bytes: &[u8]) {
        let characteristic = self.profile.streams()[0].characteristic();
        self.stream.push(arrival_s, characteristic, bytes, &mut self.out);
    }

    fn gyro(&mut self, arrival_s: f64, bytes: &[u8]) {
        let characteristic = self.profile.streams()[1].characteristic();
        self.stream.push(arrival_s, characteristic, bytes, &mut self.out);
    }
}

#[test]
fn the_checksum_of_this_test_is_the_catalogues() {
    assert_eq!(crc16(b"123456789"), 0x29b1);
}

#[test]
fn a_layout_never_seen_before_decodes_right() {
    let mut fed = Fed::new();
    // The counter rolls over on the way: 500 notifications from 65 300.
    for number in 0..500_u16 {
        let counter = 65_300_u16.wrapping_add(number);
        let times_s = times_s(number);
        let arrival_s = 20.0 + times_s[2] + 0.015;
        let (mut accel, mut gyro) = (accel_frame(number, times_s), gyro_frame(number, times_s));
        renumber(&mut accel, counter);
        renumber(&mut gyro, counter);
        fed.accel(arrival_s, &accel);
        fed.gyro(arrival_s + 0.002, &gyro);
    }
    fed.stream.flush(&mut fed.out);
    assert_eq!(fed.out.len(), 1500, "{:?}", fed.stream.counters());
    for (number, output) in fed.out.iter().enumerate() {
        let Output::Reading(reading) = output else { panic!("{output:?}") };
        let sensor_s = number as f64 / 100.0;
        let (accel, gyro) = felt(sensor_s);
        for axis in 0..3 {
            let (read, felt) = (reading.sample.accel_m_s2[axis], accel[axis]);
            assert!((read - felt).abs() <= 0.00125 / 2.0 + 1e-9, "{number}: {read} for {felt}");
            let (read, felt) = (reading.sample.gyro_rad_s[axis], gyro[axis]);
            assert!((read - felt).abs() <= 1e-6 + 1e-12, "{number}: {read} for {felt}");
        }
        // Taken 15 ms before it could arrive, by a clock that is as good as the host's.
        let off_s = reading.sample.time_s - (20.015 + sensor_s);
        assert!(off_s.abs() < 0.005, "{number}: {off_s}");
    }
}

fn renumber(frame: &mut [u8], counter: u16) {
    frame[2..4].copy_from_slice(&counter.to_be_bytes());
    let end = frame.len() - 2;
    let crc = crc16(&frame[1..end]);
    frame[end..].copy_from_slice(&crc.to_be_bytes());
}

#[test]
fn what_is_lost_and_damaged_of_it_is_counted() {
    let mut fed = Fed::new();
    for number in 0..200_u16 {
        let times_s = times_s(number);
        let arrival_s = 20.0 + times_s[2];
        let (mut accel, gyro) = (accel_frame(number, times_s), gyro_frame(number, times_s));
        if number == 50 {
            accel[10] ^= 0x10;
        }
        fed.accel(arrival_s, &accel);
        if number != 120 {
            fed.gyro(arrival_s, &gyro);
        }
    }
    fed.stream.flush(&mut fed.out);
    let counters = fed.stream.counters();
    assert_eq!((counters.received, counters.lost, counters.malformed), (594, 6, 1));
    let gaps: Vec<u64> = fed
        .out
        .iter()
        .filter_map(|output| match output {
            Output::Gap(gap) => Some(gap.lost),
            _ => None,
        })
        .collect();
    assert_eq!(gaps, [3, 3]);
}

#[test]
fn its_markers_and_its_range_count() {
    let mut fed = Fed::new();
    for number in 0..100_u16 {
        let times_s = times_s(number);
        let mut accel = accel_frame(number, times_s);
        match number {
            // −32768 on all three axes of the middle sample: nothing was read.
            40 => accel[14..20].copy_from_slice(&[0x80, 0, 0x80, 0, 0x80, 0]),
            // 39.2 m/s² is the end of the range: 31360 counts.
            60 => accel[8..10].copy_from_slice(&31_360_i16.to_be_bytes()),
            _ => {}
        }
        renumber(&mut accel, number);
        fed.accel(20.0 + times_s[2], &accel);
        fed.gyro(20.0 + times_s[2], &gyro_frame(number, times_s));
    }
    fed.stream.flush(&mut fed.out);
    let counters = fed.stream.counters();
    assert_eq!((counters.received, counters.no_data, counters.saturated), (299, 1, 1));
    assert_eq!((counters.lost, counters.malformed), (0, 0));
}
