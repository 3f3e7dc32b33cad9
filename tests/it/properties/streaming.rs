//! Live as it streams is live in one go.

use endarc_analysis::leg::LimbConfig;
use endarc_analysis::limb::{Limb, LimbEvent};
use endarc_analysis::recording::analyse_live;
use endarc_analysis::result::Repetition;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::TrialType;
use proptest::prelude::*;

use super::few_cases;
use super::visit::{Visit, draws};

proptest! {
    #![proptest_config(few_cases())]

    /// The pelvis sensor's samples come in bursts of any length up to 0.2 s after those of the shank
    /// (less than the leg waits for them), or the shank's after the pelvis's; events are fetched
    /// whenever. The values are the same, bit for bit.
    #[test]
    fn bursts_change_nothing(
        draw in draws(true),
        shank_bursts_s in prop::collection::vec(0.0..0.2_f64, 1..20),
        pelvis_bursts_s in prop::collection::vec(0.0..0.2_f64, 1..20),
        fetched_every in 1..500_usize,
    ) {
        let visit = draw.visit();
        // Knee bends may be refused: then nothing is measured either way.
        let batch = analyse_live(&visit.recording());
        let batch = batch.map(|result| result.repetitions).unwrap_or_default();
        let streamed = streamed(&visit, &shank_bursts_s, &pelvis_bursts_s, fetched_every);
        prop_assert_eq!(streamed, batch);
    }
}

/// What is fed to a leg.
#[derive(Clone, Copy)]
enum Fed<'a> {
    End,
    Begin(TrialType),
    Pelvis(&'a Sample),
    Shank(&'a Sample),
}

/// Repetitions of a leg that is fed in order of arrival.
fn streamed(
    visit: &Visit,
    shank_bursts_s: &[f64],
    pelvis_bursts_s: &[f64],
    fetched_every: usize,
) -> Vec<Repetition> {
    let mut limb = Limb::new(LimbConfig {
        side: visit.side,
        test: visit.recording().test,
        pelvis: !visit.pelvis.is_empty(),
        levelling: None,
        offsets: endarc_analysis::calibration::OffsetPriors::default(),
    });
    let (mut events, mut repetitions) = (Vec::new(), Vec::new());
    for (place, (time_s, fed)) in
        arrivals(visit, shank_bursts_s, pelvis_bursts_s).iter().enumerate()
    {
        match fed {
            Fed::End => limb.end(*time_s, &mut events),
            Fed::Begin(span) => limb.begin(*span, *time_s, &mut events),
            Fed::Pelvis(sample) => limb.pelvis(sample, &mut events),
            Fed::Shank(sample) => limb.shank(sample, &mut events),
        }
        if place % fetched_every == 0 {
            events.drain(..).for_each(|event| keep(event, &mut repetitions));
        }
    }
    events.drain(..).for_each(|event| keep(event, &mut repetitions));
    repetitions
}

fn keep(event: LimbEvent, repetitions: &mut Vec<Repetition>) {
    match event {
        LimbEvent::Captured { repetition, .. } => repetitions.push(repetition),
        LimbEvent::Refined { number, repetition } => repetitions[number] = repetition,
        _ => {}
    }
}

/// Everything with its own time, in the order of arrival. A mark comes after all samples before it, as
/// whoever sets it has seen to, and before all others.
fn arrivals<'a>(
    visit: &'a Visit,
    shank_bursts_s: &[f64],
    pelvis_bursts_s: &[f64],
) -> Vec<(f64, Fed<'a>)> {
    let mut marks: Vec<(f64, Fed<'_>)> = Vec::new();
    for event in &visit.events {
        marks.push((event.onset_s, Fed::Begin(event.trial_type)));
        marks.push((event.end_s(), Fed::End));
    }
    // An end before a beginning at the same time.
    marks.sort_by(|a, b| {
        a.0.total_cmp(&b.0).then(matches!(a.1, Fed::Begin(_)).cmp(&matches!(b.1, Fed::Begin(_))))
    });
    let parts = |time_s: f64| marks.iter().filter(|(mark_s, _)| *mark_s <= time_s).count();
    let mut arriving: Vec<(usize, f64, f64, Fed<'a>)> = Vec::new();
    for (place, (time_s, mark)) in marks.iter().enumerate() {
        arriving.push((place + 1, f64::NEG_INFINITY, *time_s, *mark));
    }
    for (samples, bursts_s, fed) in [
        (&visit.pelvis, pelvis_bursts_s, Fed::Pelvis as fn(&'a Sample) -> Fed<'a>),
        (&visit.shank, shank_bursts_s, Fed::Shank as fn(&'a Sample) -> Fed<'a>),
    ] {
        for (sample, arrival_s) in samples.iter().zip(arrival_times(samples, bursts_s)) {
            arriving.push((parts(sample.time_s), arrival_s, sample.time_s, fed(sample)));
        }
    }
    // Stable: samples of one sensor keep their order.
    arriving.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    arriving.into_iter().map(|(_, _, time_s, fed)| (time_s, fed)).collect()
}

/// Samples are held back and come together at the end of each burst.
fn arrival_times(samples: &[Sample], bursts_s: &[f64]) -> Vec<f64> {
    let mut bursts = bursts_s.iter().cycle();
    let mut end_s = f64::NEG_INFINITY;
    let held = |sample: &Sample| {
        if sample.time_s > end_s {
            end_s = sample.time_s + bursts.next().copied().unwrap_or(0.0);
        }
        end_s
    };
    samples.iter().map(held).collect()
}
