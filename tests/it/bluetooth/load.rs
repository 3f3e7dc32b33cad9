//! Eight sensors at 200 Hz: nothing that was sent is lost.
//!
//! A body has five places for a sensor, so one program takes five: the three of the scenario, and two
//! that lie on the table as if they were worn on the thighs. The other three of the eight are taken by
//! a second program on the same Bluetooth service. With `ENDARC_LOAD_S=600` it takes ten minutes.

use endarc_tests::daemon::Daemon;
use endarc_tests::peripheral::{self, Peripheral};
use endarc_tests::{Scratch, Watch, usage};
use serde_json::Value;

use super::visit::{assign, run};

/// Who takes which sensors.
const FIVE: [(&str, &str); 5] = [
    ("left-shank", "02:00:00:00:00:01"),
    ("right-shank", "02:00:00:00:00:02"),
    ("pelvis", "02:00:00:00:00:03"),
    ("left-thigh", "02:00:00:00:00:04"),
    ("right-thigh", "02:00:00:00:00:05"),
];
const THREE: [(&str, &str); 3] = [
    ("left-shank", "02:00:00:00:00:06"),
    ("right-shank", "02:00:00:00:00:07"),
    ("pelvis", "02:00:00:00:00:08"),
];
/// Samples in a notification of the reference profile.
const PER_NOTIFICATION: u64 = 5;
const RATE_HZ: f64 = 200.0;

#[test]
fn eight_sensors_at_200_hz_lose_nothing() {
    if !peripheral::is_possible() {
        return;
    }
    let _turn = super::real_time();
    let seconds = std::env::var("ENDARC_LOAD_S").map_or(60, |text| text.parse().unwrap());
    let scratch = Scratch::new();
    let scenario = scratch.file("load.toml", scenario(seconds));
    let mut peripheral = Peripheral::start(&scenario, &["--spares", "5"]);
    // The second program is there first: the visit begins when the scenario's own sensors stream.
    let three = assigned(&scratch, &peripheral, "three", &THREE);
    let five = assigned(&scratch, &peripheral, "five", &FIVE);
    let mut three = run(&peripheral, &three, &scenario);
    streaming(&three, THREE.len());
    let mut five = run(&peripheral, &five, &scenario);
    let begun = peripheral.begins(120);
    let watch = Watch::start();
    streaming(&five, FIVE.len());
    for daemon in [&mut three, &mut five] {
        daemon.process.tell(&begun);
    }
    // Five run to the visit's end; what they used until then is asked for while they are there.
    let states = [&three, &five].map(ended);
    let (wall_s, sent) = (watch.seconds(), peripheral.sent(8));
    let used = [three.process.id(), five.process.id(), peripheral.id()].map(usage::of);
    for (name, used) in ["three sensors", "five sensors", "peripheral"].iter().zip(used) {
        println!(
            "{name}: {:.1} s of processor in {wall_s:.0} s, at most {:.0} MB",
            used.cpu_s, used.peak_mb
        );
    }
    for (daemon, state) in [three, five].into_iter().zip(&states) {
        nothing_lost(state, seconds);
        let said = daemon.stop().done().stderr;
        for line in said.lines().filter(|line| line.contains("latency")) {
            println!("{line}");
        }
    }
    let all: u64 = sent.values().sum::<u64>() * PER_NOTIFICATION;
    let received: u64 = states.iter().flat_map(sensors).map(received).sum();
    println!("{all} samples sent, {received} received; the rest after the visits' end");
    // At most the goodbye's length was sent to nobody.
    assert!(received <= all && all - received < 8 * 200 * 5, "{received} of {all}");
}

/// A visit of so many seconds, its sensors at 200 Hz.
fn scenario(seconds: u64) -> String {
    let sensor = |role: &str| format!("[[sensors]]\nrole = \"{role}\"\n");
    let sensors: String = ["left-shank", "right-shank", "pelvis"].map(sensor).concat();
    format!(
        "seed = 45\nrate_hz = {RATE_HZ}\n{sensors}\n[[script]]\nneutral = {{}}\n\n[[script]]\nrest = {{ duration_s = {} }}\n",
        // The neutral holds of both legs take some twenty.
        seconds.saturating_sub(20)
    )
}

fn assigned(
    scratch: &Scratch,
    peripheral: &Peripheral,
    name: &str,
    sensors: &[(&str, &str)],
) -> std::path::PathBuf {
    let data = scratch.at(name);
    for (role, address) in sensors {
        assign(peripheral, &data, address, role);
    }
    data
}

/// Waits until all sensors of a program stream.
fn streaming(daemon: &Daemon, number: usize) {
    let streams = |one: &&Value| one["link"] == "streaming";
    daemon.live().first(|state| sensors(state).iter().filter(streams).count() == number);
}

fn ended(daemon: &Daemon) -> Value {
    daemon.live().first(|state| state["ended"] == true)
}

fn nothing_lost(state: &Value, seconds: u64) {
    for sensor in sensors(state) {
        for counter in ["lost", "duplicate", "reordered", "late", "malformed"] {
            assert_eq!(sensor[counter], 0, "{counter}: {sensor}");
        }
        assert!(received(sensor) as f64 > 0.9 * seconds as f64 * RATE_HZ, "{sensor}");
    }
}

fn sensors(state: &Value) -> &Vec<Value> {
    state["sensors"].as_array().expect("a list of sensors")
}

fn received(sensor: &Value) -> u64 {
    sensor["received"].as_u64().expect("a number of samples")
}
