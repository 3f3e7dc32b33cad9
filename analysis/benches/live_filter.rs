//! Cost of one step of the orientation filters, on one core.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use endarc_analysis::orientation::{LiveFilter, smooth};
use endarc_protocol::sample::{Flags, Sample};
use std::hint::black_box;

/// A swinging limb at 100 Hz.
fn samples(count: u32) -> Vec<Sample> {
    (0..count)
        .map(|i| {
            let time_s = f64::from(i) * 0.01;
            let (sine, cosine) = (0.6 * (1.3 * time_s).sin()).sin_cos();
            Sample {
                time_s,
                accel_m_s2: [9.81 * sine, 0.3 * (38.0 * time_s).sin(), 9.81 * cosine],
                gyro_rad_s: [0.02, -0.6 * 1.3 * (1.3 * time_s).cos(), 0.1 * (38.0 * time_s).cos()],
                flags: Flags::default(),
            }
        })
        .collect()
}

fn benches(criterion: &mut Criterion) {
    let samples = samples(10_000);
    let mut group = criterion.benchmark_group("orientation");
    group.throughput(Throughput::Elements(samples.len() as u64));
    group.bench_function("live filter", |bencher| {
        bencher.iter(|| {
            let mut filter = LiveFilter::new();
            for sample in &samples {
                black_box(filter.push(black_box(sample)));
            }
        });
    });
    group.bench_function("smoother", |bencher| bencher.iter(|| smooth(black_box(&samples))));
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
