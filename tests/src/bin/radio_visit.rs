//! Records a whole visit from Bluetooth sensors that play a folder's frames, as the therapist with
//! the pedal, and holds what was kept against the truth: `tests/radio/README.md` says how it is run.
//!
//! `radio_visit ENDARC FOLDER FAULTS` – the sensors are assigned already, in the data folder `data`.
//! FAULTS holds lines `SECONDS SHELL COMMAND`: what goes wrong in the visit, and when.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test program: a panic is the way to fail"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::Duration;

use endarc_protocol::events_csv::{self, Event};
use endarc_protocol::words::{Side, TrialType};
use endarc_tests::truth::{self, True, max_abs, mean_abs, number};
use endarc_tests::{Daemon, Deadline, Process, Watch, database};
use serde_json::{Value, json};

/// What a value may be off where no gap touched it, degrees; the same motion without a radio stays
/// under 1°.
const TOLERANCE_DEG: f64 = 1.5;

/// What is still measured after the last span, s.
const AFTER_S: f64 = 1.0;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1).map(PathBuf::from);
    let mut argument = || arguments.next().expect("radio_visit ENDARC FOLDER FAULTS");
    let (endarc, folder, faults) = (argument(), argument(), argument());
    let data = Path::new("data");
    let zero_s = record(&endarc, data, &events(&folder), &read_faults(&faults));
    if tell(data, &truth::read(&folder.join("truth.json")), zero_s) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// One thing to do at a time of the sensors' clock, s.
enum Doing {
    Pedal(TrialType, Option<Side>),
    Shell(String),
}

/// Records the visit; gives the visit time at which the sensors' clock read zero, s.
fn record(endarc: &Path, data: &Path, events: &[Event], faults: &[(f64, String)]) -> f64 {
    let mut command = Command::new(endarc);
    command
        .args(["run", "--unguided", "--listen", "127.0.0.1:0", "--person", "P-907", "--data-dir"])
        .arg(data);
    let mut daemon = Daemon::of(Process::start(command));
    // The sensors begin to play when the last of them is subscribed to.
    let (zero_s, clock) = loop {
        let (state, clock) = (daemon.get("/api/state").json(), Watch::start());
        let sensors = state["sensors"].as_array().expect("sensors");
        if sensors.iter().all(|sensor| sensor["received"].as_u64() > Some(0)) {
            break (number(&state, "time_s"), clock);
        }
        pause(0.1);
    };
    println!("all sensors stream at {zero_s:.2} s of the visit");
    let last_s = events.iter().map(Event::end_s).fold(0.0, f64::max);
    for (at_s, doing) in in_time(events, faults) {
        pause(at_s - clock.seconds());
        match doing {
            Doing::Pedal(trial_type, side) => {
                println!("{at_s:7.2} s  pedal: {trial_type} {}", side.map_or("both", Side::as_str));
                let answer = daemon.post("/api/mark", &json!({"kind": "next"}));
                assert_eq!(answer.status, 202, "{answer:?}");
            }
            Doing::Shell(line) => {
                println!("{at_s:7.2} s  {line}");
                // A service that is started anew takes its time, and the visit goes on meanwhile.
                std::thread::spawn(move || {
                    Command::new("sh").args(["-c", &line]).stdin(Stdio::null()).status()
                });
            }
        }
    }
    pause(last_s + AFTER_S - clock.seconds());
    println!("{}", daemon.get("/api/status").body);
    daemon.process.terminate();
    daemon.process.line_with("closed and kept", Deadline::after_s(60));
    let ended = daemon.process.end().done();
    println!("{}", ended.stderr);
    zero_s
}

/// Lets the sensors' clock go on: what is waited for is a time, and nothing tells it.
fn pause(seconds: f64) {
    std::thread::sleep(Duration::from_secs_f64(seconds.max(0.0)));
}

/// The pedal goes on at the start of each span that the plan has: each leg is prepared by itself,
/// both are measured together.
fn in_time(events: &[Event], faults: &[(f64, String)]) -> Vec<(f64, Doing)> {
    let mut all = Vec::new();
    let mut before = None;
    for event in events {
        let prepares = matches!(event.trial_type, TrialType::Neutral | TrialType::AlignKnee);
        let step = (event.trial_type, event.side.filter(|_| prepares));
        if before.replace(step) != Some(step) {
            all.push((event.onset_s, Doing::Pedal(step.0, step.1)));
        }
    }
    all.extend(faults.iter().map(|(at_s, line)| (*at_s, Doing::Shell(line.clone()))));
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// Prints what was kept beside the truth; whether it is as it should be.
fn tell(data: &Path, truth: &[True], zero_s: f64) -> bool {
    let gaps = database::gaps(data);
    for gap in &gaps {
        let (from_s, to_s) = (gap.from_s - zero_s, gap.to_s - zero_s);
        println!(
            "gap {:12} {from_s:7.2}–{to_s:7.2} s  {}, {} counted",
            gap.role, gap.cause, gap.lost
        );
    }
    println!("epochs {:?}, raw samples {:?}", database::epochs(data), database::raw_samples(data));
    let mut good = true;
    for (kind, side) in [("live", "left"), ("live", "right"), ("final", "left"), ("final", "right")]
    {
        let own: Vec<True> = truth.iter().filter(|one| one.side == side).cloned().collect();
        let score =
            truth::score(&on_the_sensors_clock(database::values(data, side, kind), zero_s), &own);
        let touched = |one: &True| {
            let span = one.start_s - 1.0..one.hold_start_s + one.hold_s + 1.0;
            let concerns = |gap: &database::Gap| gap.role == "pelvis" || gap.role.starts_with(side);
            let overlaps = |gap: &database::Gap| {
                gap.from_s - zero_s < span.end && gap.to_s - zero_s > span.start
            };
            gaps.iter().any(|gap| concerns(gap) && overlaps(gap))
        };
        let error =
            |(value, truth): &(Value, True)| number(value, "end_range_deg") - truth.end_range_deg;
        let (beside, within): (Vec<_>, Vec<_>) =
            score.matched.iter().partition(|(_, truth)| touched(truth));
        let errors: Vec<f64> = within.into_iter().map(error).collect();
        println!(
            "{side} {kind}: {} of {} true repetitions, error mean {:.2}° worst {:.2}°; touched by a gap {:?}; missed {}, \
             invented {}",
            score.matched.len(),
            own.len(),
            mean_abs(&errors),
            max_abs(&errors),
            beside.iter().map(|pair| (error(pair), pair.0["flags"].clone())).collect::<Vec<_>>(),
            score.missed.len(),
            score.invented.len(),
        );
        let missed = score.missed.iter().filter(|one| !touched(one)).count();
        good &= missed == 0 && score.invented.is_empty() && max_abs(&errors) < TOLERANCE_DEG;
        good &= !errors.is_empty();
    }
    good
}

fn on_the_sensors_clock(mut values: Vec<Value>, zero_s: f64) -> Vec<Value> {
    for value in &mut values {
        value["end_range_at_s"] = json!(number(value, "end_range_at_s") - zero_s);
    }
    values
}

fn events(folder: &Path) -> Vec<Event> {
    let file = fs::File::open(folder.join("events.csv")).expect("the folder has events.csv");
    events_csv::read(file).expect("events")
}

fn read_faults(file: &Path) -> Vec<(f64, String)> {
    let text = fs::read_to_string(file).expect("the faults can be read");
    let line = |line: &str| {
        let (at_s, command) = line.split_once(' ').expect("SECONDS COMMAND");
        (at_s.parse().expect("seconds"), command.to_owned())
    };
    text.lines().filter(|line| !line.trim().is_empty()).map(line).collect()
}
