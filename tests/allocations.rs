//! What a sample costs on its way from a notification's bytes to an angle, in memory that is asked
//! for: decode, order and clock ask for none, and the leg only where something happens.

#![allow(clippy::expect_used, clippy::panic, reason = "a test: a panic is the way to fail")]

use std::alloc::System;
use std::sync::Mutex;

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::limb::{Limb, LimbConfig};
use endarc_protocol::events_csv::Event;
use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Sample;
use endarc_protocol::stream::{Output, SensorStream};
use endarc_protocol::words::{Side, TestKind};
use endarc_simulator::Notification;
use endarc_simulator::{Scenario, Session};
use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};

#[global_allocator]
static COUNTED: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

const SCENARIO: &str = r#"
seed = 5
person = "P-908"
[[sensors]]
role = "right-shank"
[link]
loss = 0.002
burst_every_s = 20
[[script]]
align-knee = { times = 3 }
[[script]]
neutral = {}
[[script]]
baseline = { repetitions = 4 }
"#;

/// One measurement at a time: the counter sees every thread.
static MEASURING: Mutex<()> = Mutex::new(());

/// The test's own harness asks for a little now and then; what the way itself asks for it would ask
/// for in every round.
fn least_of_rounds(round: impl Fn() -> usize) -> usize {
    (0..5).map(|_| round()).min().expect("five rounds")
}

fn session() -> Session {
    Session::new(&Scenario::parse("scenario", SCENARIO).expect("a scenario"))
}

/// From a second into the visit on, with vectors that have grown to what they need by then.
fn decoded(notifications: &[Notification], hear: &mut dyn FnMut(&Sample)) -> (usize, usize) {
    let mut stream = SensorStream::new(&Profile::reference());
    let mut outputs = Vec::new();
    let (mut samples, mut asked) = (0, 0);
    for notification in notifications {
        let warm = notification.arrival_s > 1.0;
        let region = Region::new(COUNTED);
        let Notification { arrival_s, characteristic, bytes, .. } = notification;
        stream.push(*arrival_s, *characteristic, bytes, &mut outputs);
        for output in outputs.drain(..) {
            if let Output::Reading(reading) = output {
                samples += usize::from(warm);
                hear(&reading.sample);
            }
        }
        let change = region.change();
        asked += if warm { change.allocations + change.reallocations } else { 0 };
    }
    (samples, asked)
}

#[test]
fn decode_order_and_clock_ask_for_no_memory_per_sample() {
    let _alone = MEASURING.lock().expect("no measurement failed before");
    let notifications: Vec<Notification> = session().notifications().collect();
    let asked = least_of_rounds(|| {
        let (samples, asked) = decoded(&notifications, &mut |_| {});
        assert!(samples > 8_000, "{samples}");
        asked
    });
    println!("decode, order and clock: asked {asked} times");
    // Behind a hole samples wait, and what they wait in grows to its size once or twice.
    assert!(asked <= 8, "{asked}");
}

#[test]
fn the_leg_asks_for_memory_only_where_something_happens() {
    let _alone = MEASURING.lock().expect("no measurement failed before");
    let session = session();
    let notifications: Vec<Notification> = session.notifications().collect();
    let asked = least_of_rounds(|| {
        let mut limb = Limb::new(LimbConfig {
            side: Side::Right,
            test: TestKind::ProneHipRotation,
            pelvis: false,
            levelling: None,
            offsets: OffsetPriors::default(),
        });
        let mut spans = session.events().iter().peekable();
        let mut open: Option<&Event> = None;
        let mut events = Vec::new();
        let mut happened = 0;
        let (samples, asked) = decoded(&notifications, &mut |sample| {
            if let Some(span) = open.take_if(|span| sample.time_s >= span.end_s()) {
                limb.end(span.end_s(), &mut events);
            }
            if let Some(span) = spans.next_if(|span| sample.time_s >= span.onset_s) {
                limb.begin(span.trial_type, span.onset_s, &mut events);
                open = Some(span);
            }
            limb.shank(sample, &mut events);
            happened += events.len();
            events.clear();
        });
        assert!(happened > 100, "{happened}");
        println!("the whole way: {samples} samples, asked {asked} times, {happened} events");
        asked
    });
    // About once in nineteen samples: spans are kept for the alignment, movements for their value.
    assert!(asked < 600, "{asked}");
}
