//! A layout the code has never seen: accelerometer and gyroscope in separate characteristics,
//! big-endian, CRC-16, three samples a frame, axes turned, gyroscope left-handed.

use super::*;

pub(super) fn profile() -> Profile {
    Profile::parse("split.toml", include_str!("../../../tests/profiles/split.toml")).unwrap()
}

/// CRC-16 of the polynomial 0x1021, initial value 0xFFFF, bit by bit.
fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0xffff, |crc, byte| {
        (0..8).fold(crc ^ (u16::from(*byte) << 8), |crc: u16, _| {
            if crc & 0x8000 == 0 { crc << 1 } else { (crc << 1) ^ 0x1021 }
        })
    })
}

/// A notification written by hand, not by the encoder.
fn by_hand(counter: u16, triples: [[i16; 3]; 3]) -> Vec<u8> {
    let mut bytes = counter.to_be_bytes().to_vec();
    bytes.extend(triples.iter().flatten().flat_map(|count| count.to_be_bytes()));
    bytes.extend(crc16(&bytes).to_be_bytes());
    bytes
}

#[test]
fn a_split_sensor_reads_right() {
    let profile = profile();
    let [accel, gyro] = profile.streams() else { panic!("two streams") };
    let mut stream = SensorStream::new(&profile);
    let mut out = Vec::new();
    let arrival_s = 5.0;
    // Counts as sent: accelerometer 4096 to the g, gyroscope 16 to the degree.
    let sent = by_hand(7, [[0, -4096, 0], [1, 2, 3], [4, 5, 6]]);
    stream.push(arrival_s, accel.characteristic(), &sent, &mut out);
    assert!(out.is_empty(), "nothing leaves before both halves are there");
    let sent = by_hand(7, [[1440, 0, 0], [10, 20, 30], [40, 50, 60]]);
    stream.push(arrival_s, gyro.characteristic(), &sent, &mut out);
    let readings: Vec<_> = out
        .iter()
        .map(|output| match output {
            Output::Reading(reading) => *reading,
            other => panic!("{other:?}"),
        })
        .collect();
    // Frame axes are the sent y, -x, z; the gyroscope's signs are the other way round.
    assert_eq!(readings[0].counts, Some([-4096, 0, 0, 0, 1440, 0]));
    assert_eq!(readings[1].counts, Some([2, -1, 3, -20, 10, -30]));
    assert_eq!(readings[2].counts, Some([5, -4, 6, -50, 40, -60]));
    assert!((readings[0].sample.accel_m_s2[0] + 9.806_65).abs() < 1e-12);
    assert!((readings[0].sample.gyro_rad_s[1].to_degrees() - 90.0).abs() < 1e-9);
    // The seventh notification of three samples.
    assert_eq!(readings.iter().map(|reading| reading.counter).collect::<Vec<_>>(), [21, 22, 23]);
    assert!((readings[2].sample.time_s - arrival_s).abs() < 1e-6);
    assert!((readings[1].sample.time_s - (arrival_s - 1.0 / 104.0)).abs() < 1e-6);
}

#[test]
fn a_lost_half_is_a_lost_sample() {
    let mut bench = Bench::new(profile());
    let characteristics: Vec<_> =
        bench.profile.streams().iter().map(|stream| stream.characteristic()).collect();
    for frame in 0..40_u16 {
        for (half, characteristic) in characteristics.iter().enumerate() {
            if (frame, half) != (20, 1) {
                let arrival_s = 3.0 * f64::from(frame) / 104.0;
                let bytes = by_hand(frame, [[100, 200, 300]; 3]);
                bench.stream.push(arrival_s, *characteristic, &bytes, &mut bench.out);
            }
        }
    }
    let [gap] = bench.gaps()[..] else { panic!("one gap") };
    assert_eq!((gap.lost, gap.cause), (3, GapCause::Lost));
    let counters = bench.stream.counters();
    assert_eq!((counters.received, counters.lost, counters.reordered), (117, 3, 0));
}

#[test]
fn a_damaged_half_is_refused() {
    let mut bench = Bench::new(profile());
    let mut bytes = by_hand(0, [[1, 2, 3]; 3]);
    bytes[4] ^= 0x10;
    bench.bytes(0.0, &bytes);
    let [Output::Malformed { error, .. }] = &bench.out[..] else { panic!() };
    assert_eq!(error.reason(), Reason::Checksum);
}
