//! Each fault in turn, on visits that run side by side: the program survives, counts exactly what the
//! script did, stores gaps with their span and cause, and measures what no gap touched as ever.

mod checks;

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::thread;

use endarc_tests::peripheral;
use serde_json::Value;

use self::checks::{
    all_there, away, corrupt, disconnect, lose, nothing_missing, removed, reorder, repeat, reset,
    silence, taken_up_again,
};
use super::same::differences;
use super::visit::{Common, Disturbance, Outcome};

/// A fault, and what must come of it.
struct Case {
    disturbance: Disturbance,
    check: fn(&Outcome),
}

const fn case(name: &'static str, faults: &'static str, check: fn(&Outcome)) -> Case {
    let disturbance = Disturbance { name, faults, options: &[], once: None, then: "" };
    Case { disturbance, check }
}

/// Those that befall frames, or one link.
static OF_SENSORS: [Case; 9] = [
    case("none", "", nothing_missing),
    case("lose", "22.9 lose left-shank 4\n30 lose right-shank 2\n40.8 lose pelvis 1", lose),
    case("corrupt", "23 corrupt left-shank 4\n30 corrupt right-shank 2", corrupt),
    case("repeat", "battery pelvis 9\n23 repeat left-shank 7\n24 repeat pelvis 3", repeat),
    case("reorder", "23 swap left-shank 6\n30 swap pelvis 2", reorder),
    case("silence", "22.9 silence left-shank 2.5\n24 silence right-shank 7", silence),
    case("disconnect", "30 disconnect left-shank\n37 disconnect right-shank", disconnect),
    case("reset", "24 reset left-shank\n33.5 reset right-shank", reset),
    case("away", "refuse all 2\n3 away right-shank\n24 near right-shank", away),
];

/// Those that befall all of them at once.
static OF_THE_RADIO: [Case; 7] = [
    case("unplugged", "26.2 adapter unplugged\n27.2 adapter plugged", taken_up_again),
    case("off and on", "26.2 adapter off\n27.2 adapter on", taken_up_again),
    case("removed", "26.2 remove left-shank\n33.3 remove right-shank", removed),
    case("bluetoothd", "26.2 bluetoothd gone\n27.2 bluetoothd back", taken_up_again),
    case("bus", "26.2 bus killed\n27.2 bus back", taken_up_again),
    // An adapter that is plugged in later, and notifications that hold one sample each.
    Case {
        disturbance: Disturbance {
            name: "no adapter",
            faults: "adapter unplugged",
            options: &["--mtu", "23"],
            once: Some(no_adapter),
            then: "adapter plugged",
        },
        check: nothing_missing,
    },
    // Access that is granted later, and bursts.
    Case {
        disturbance: Disturbance {
            name: "refused permission",
            faults: "permission refused\n22.8 burst left-shank 0.8\n36 burst all 0.9",
            options: &[],
            once: Some(not_allowed),
            then: "permission granted",
        },
        check: nothing_missing,
    },
];

fn no_adapter(state: &Value) -> bool {
    state["radio"].as_str().is_some_and(|said| said.contains("no Bluetooth adapter"))
}

fn not_allowed(state: &Value) -> bool {
    state["radio"].as_str().is_some_and(|said| said.contains("may not use Bluetooth"))
}

#[test]
fn each_fault_is_survived_counted_and_marked() {
    if !peripheral::is_possible() {
        return;
    }
    let _turn = super::real_time();
    let common = Common::new();
    let undisturbed = common.simulated();
    let cases: Vec<&Case> = OF_SENSORS.iter().chain(&OF_THE_RADIO).collect();
    let outcomes: Vec<_> = thread::scope(|scope| {
        let record = |case: &&'static Case| {
            let (common, disturbance) = (&common, &case.disturbance);
            scope.spawn(move || common.record(disturbance))
        };
        let running: Vec<_> = cases.iter().map(record).collect();
        running.into_iter().map(thread::ScopedJoinHandle::join).collect()
    });
    let mut failed = Vec::new();
    for (case, outcome) in cases.iter().zip(outcomes) {
        let name = case.disturbance.name;
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(panicked) => resume_unwind(panicked),
        };
        println!("{name}: {:#?}", outcome.gaps);
        let checked = catch_unwind(AssertUnwindSafe(|| {
            assert_eq!(outcome.ended.code(), 0);
            all_there(&outcome);
            (case.check)(&outcome);
        }));
        let mut wrong = differences(&outcome.data(), &undisturbed.at("data"), &outcome.gaps);
        if checked.is_err() {
            wrong.push("see above".to_owned());
        }
        if !wrong.is_empty() {
            println!("{name} said:\n{}", outcome.ended.stderr);
            failed.push((name, wrong));
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}
