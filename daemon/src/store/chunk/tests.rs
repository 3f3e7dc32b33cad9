//! Every bit that goes in comes out, and damaged bytes are noticed.

use proptest::prelude::*;

use super::*;

const SCALE: Scale =
    Scale { accel_m_s2_per_count: 9.80665 / 2048.0, gyro_rad_s_per_count: 0.001_065 };

fn flags() -> impl Strategy<Value = Flags> {
    any::<(bool, bool)>()
        .prop_map(|(accel_saturated, gyro_saturated)| Flags { accel_saturated, gyro_saturated })
}

/// Any bit pattern at all: infinities and every NaN among them.
fn any_f64() -> impl Strategy<Value = f64> {
    any::<u64>().prop_map(f64::from_bits)
}

fn time_s() -> impl Strategy<Value = f64> {
    prop_oneof![any_f64(), 0.0..4000.0, (0_u32..u32::MAX).prop_map(|us| f64::from(us) / 1e6)]
}

prop_compose! {
    fn count_reading()(
        time_s in time_s(), counter: u64, ticks: u64, accel: [i32; 3], gyro: [i32; 3],
        flags in flags(),
    ) -> CountReading {
        CountReading { time_s, counter, ticks, accel, gyro, flags }
    }
}

prop_compose! {
    fn sample()(
        time_s in time_s(), accel in prop::array::uniform3(any_f64()),
        gyro in prop::array::uniform3(any_f64()), flags in flags(),
    ) -> Sample {
        Sample { time_s, accel_m_s2: accel, gyro_rad_s: gyro, flags }
    }
}

/// The bits of readings: equality of f64 would let -0 pass for 0 and no NaN for itself.
fn bits(readings: &Readings) -> Vec<[u64; 10]> {
    let bits = |time_s: f64, counter, ticks, axes: [u64; 6], flags| {
        let [ax, ay, az, gx, gy, gz] = axes;
        [time_s.to_bits(), counter, ticks, ax, ay, az, gx, gy, gz, u64::from(flags_to_byte(flags))]
    };
    let six = |accel: [u64; 3], gyro: [u64; 3]| {
        let ([ax, ay, az], [gx, gy, gz]) = (accel, gyro);
        [ax, ay, az, gx, gy, gz]
    };
    match readings {
        Readings::Counts { readings, .. } => readings
            .iter()
            .map(|r| {
                let wide = |axis: i32| i64::from(axis).cast_unsigned();
                bits(
                    r.time_s,
                    r.counter,
                    r.ticks,
                    six(r.accel.map(wide), r.gyro.map(wide)),
                    r.flags,
                )
            })
            .collect(),
        Readings::Values(samples) => samples
            .iter()
            .map(|s| {
                let axes = six(s.accel_m_s2.map(f64::to_bits), s.gyro_rad_s.map(f64::to_bits));
                bits(s.time_s, 0, 0, axes, s.flags)
            })
            .collect(),
    }
}

fn round_trip(readings: &Readings) -> Readings {
    let bytes = encode(readings).unwrap();
    decode(readings.codec(), readings.scale(), readings.len(), &bytes).unwrap()
}

proptest! {
    #[test]
    fn counts_come_back_to_the_bit(readings in prop::collection::vec(count_reading(), 0..200)) {
        let readings = Readings::Counts { scale: SCALE, readings };
        prop_assert_eq!(bits(&round_trip(&readings)), bits(&readings));
    }

    #[test]
    fn values_come_back_to_the_bit(samples in prop::collection::vec(sample(), 0..200)) {
        let readings = Readings::Values(samples);
        prop_assert_eq!(bits(&round_trip(&readings)), bits(&readings));
    }

    #[test]
    fn any_bytes_are_answered(
        bytes in prop::collection::vec(any::<u8>(), 0..300), codec in 0_i64..4, count in 0_usize..50,
    ) {
        // Bytes that nobody packed are an error; what matters is that it returns.
        prop_assert!(decode(codec, Some(SCALE), count, &bytes).is_err());
    }

    #[test]
    fn any_payload_is_answered(
        payload in prop::collection::vec(any::<u8>(), 0..300), count in 0_usize..50,
    ) {
        // Inside an intact frame; a payload that happens to be right must come back as it was.
        if let Ok(readings) = counts::decode(&payload, count) {
            prop_assert_eq!(readings.len(), count);
        }
        if let Ok(samples) = values::decode(&payload, count) {
            prop_assert_eq!(samples.len(), count);
        }
    }

    #[test]
    fn a_changed_bit_is_noticed(place: prop::sample::Index, bit in 0..8_u32) {
        let readings = plausible(100, 100.0, 0.0);
        let mut bytes = encode(&readings).unwrap();
        let place = place.index(bytes.len());
        bytes[place] ^= 1 << bit;
        if let Ok(read) = decode(readings.codec(), readings.scale(), readings.len(), &bytes) {
            // A few header bits (an unused one, say) carry no meaning.
            prop_assert_eq!(bits(&read), bits(&readings));
        }
    }
}

#[test]
fn a_wrong_count_codec_or_scale_is_refused() {
    let readings = plausible(50, 100.0, 0.0);
    let bytes = encode(&readings).unwrap();
    let error = |codec, scale, count| decode(codec, scale, count, &bytes).unwrap_err().to_string();
    assert!(error(CODEC_COUNTS, Some(SCALE), 49).contains("49 readings"));
    assert!(error(CODEC_COUNTS, None, 50).contains("without a scale"));
    assert!(error(3, Some(SCALE), 50).contains("newer release"));
    assert!(error(CODEC_COUNTS, Some(SCALE), READINGS_MAX + 1).contains("at most"));
}

#[test]
fn counts_become_samples_by_their_scale() {
    let Readings::Counts { readings, .. } = plausible(1, 100.0, 0.0) else { unreachable!() };
    let reading = CountReading { accel: [2048, 0, -1024], gyro: [1000, 0, -1], ..readings[0] };
    let sample = reading.to_sample(SCALE);
    assert_eq!(sample.accel_m_s2, [9.80665, 0.0, -9.80665 / 2.0]);
    assert_eq!(sample.gyro_rad_s, [1.065, 0.0, -0.001_065]);
}

#[test]
fn plausible_data_takes_a_few_bytes_a_sample() {
    for (rate_hz, jitter_s) in [(100.0, 0.0), (100.0, 0.000_02), (200.0, 0.0)] {
        for seconds in [1.0, 120.0] {
            let readings = plausible((rate_hz * seconds) as usize, rate_hz, jitter_s);
            let count = readings.len() as f64;
            let per_sample = encode(&readings).unwrap().len() as f64 / count;
            let values = Readings::Values(readings.into_samples());
            let per_value = encode(&values).unwrap().len() as f64 / count;
            println!(
                "{rate_hz} Hz, {seconds} s, clock jitter {jitter_s} s: \
                 {per_sample:.2} bytes per sample as counts, {per_value:.2} as values"
            );
            // Six 16-bit counts take 12 bytes as they travel, and seven f64 take 56.
            assert!(per_sample < 8.0 && per_value < 48.0);
        }
    }
}

/// A leg turned to and fro, 16-bit counts at ±16 g and ±2000 °/s, with the noise of a cheap
/// sensor (about 0.1 °/s and 3 mg: from memory), times to the microsecond.
fn plausible(count: usize, rate_hz: f64, jitter_s: f64) -> Readings {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut noise = move || {
        let mut sum = -2.0;
        for _ in 0..4 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            sum += (state >> 11) as f64 / (1_u64 << 53) as f64;
        }
        sum * 3.0_f64.sqrt()
    };
    let readings = (0..count)
        .map(|i| {
            let t = i as f64 / rate_hz;
            let angle = 0.6 * (t * 0.8).sin();
            let rate = 0.48 * (t * 0.8).cos();
            let accel = [2048.0 * angle.sin(), 30.0, 2048.0 * angle.cos()];
            let gyro = [rate / 0.001_065, 0.0, 5.0];
            CountReading {
                time_s: ((12.345_678 + t * 1.000_02 + jitter_s * noise()) * 1e6).round() / 1e6,
                counter: i as u64,
                ticks: (t * 1e6).round() as u64,
                accel: accel.map(|value| (value + 6.0 * noise()).round() as i32),
                gyro: gyro.map(|value| (value + 1.6 * noise()).round() as i32),
                flags: Flags::default(),
            }
        })
        .collect();
    Readings::Counts { scale: SCALE, readings }
}
