//! Shank sensors on each other's leg: noticed, offered to be exchanged, and put right.

use endarc_tests::binary::workspace;
use endarc_tests::daemon::kept;
use endarc_tests::truth::{self, max_abs};
use endarc_tests::{Daemon, Deadline, Scratch, database, run};
use serde_json::json;

#[test]
fn exchanged_sensors_are_put_right_before_anything_is_captured_and_not_after() {
    let scratch = Scratch::new();
    let scenario = workspace().join("simulator/scenarios/exchanged.toml").display().to_string();
    let folder = scratch.at("recording").display().to_string();
    run(["simulate", &scenario, "--output", &folder]).done();
    let truth = truth::read(&scratch.at("recording").join("truth.json"));

    let data = scratch.at("data");
    let mut daemon = Daemon::start(&data, &format!("sim:{scenario}"), &["--speed", "5"]);
    let mut live = daemon.live();
    let exchange = |visit: &str| daemon.post("/api/exchange", &json!({ "visit": visit }));
    let state = live.first(|state| state["exchange"].is_string());
    assert!(state["exchange"].as_str().unwrap().contains("exchanged"), "{state}");
    assert!(exchange("99").problem(409).contains("another visit"));
    let visit = state["visit"]["id"].as_str().unwrap().to_owned();
    assert_eq!(exchange(&visit).status, 202);
    live.first(|state| state["exchange"].is_null());
    // The knee bends that were made with the sensors exchanged count for the right leg now.
    let state = live.first(|state| kept(state) > 0);
    assert_eq!(state["repetitions"][0]["side"], "left");
    assert!(exchange(&visit).problem(409).contains("captured already"));
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let stored = daemon.get(&format!("/api/visits/{visit}")).json();
    let said = daemon.stop().stderr;

    let score = truth::score(stored["repetitions"].as_array().unwrap(), &truth);
    score.assert_complete("exchanged sensors");
    let worst = max_abs(&score.errors_deg());
    println!("worst error {worst:.2}°");
    assert!(worst < 1.5, "{:?}", score.errors_deg());
    assert_eq!(
        said.matches("the sensor of the").count(),
        1,
        "the other leg is not doubted: {said}"
    );
    let addresses = database::addresses(&data);
    // The first sensor of the scenario was meant for the left shank.
    assert!(addresses["left-shank"] > addresses["right-shank"], "{addresses:?}");
}
