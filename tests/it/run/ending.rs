//! How a visit ends: by itself, because somebody asked, or by a crash.

use std::path::Path;

use endarc_tests::daemon::{kept, visits};
use endarc_tests::{Deadline, Scratch, database};
use serde_json::Value;

use super::hindrance::assert_all_stored;
use super::simulated;

#[test]
fn every_sample_of_a_whole_visit_is_stored() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let mut daemon = simulated(&scratch, &data, "100");
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let state = daemon.get("/api/state").json();
    assert_eq!(state["ended"], true);
    let ended = daemon.stop();
    assert_eq!(ended.code(), 0, "{}", ended.stderr);
    assert!(!data.join("address").exists(), "the page is gone, its address is not");

    assert_all_stored(&scratch, &data);
    assert_state(&data, "closed");
}

#[test]
fn asked_to_stop_it_closes_the_visit_and_loses_nothing() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let daemon = simulated(&scratch, &data, "20");
    let seen = daemon.live().first(|state| kept(state) >= 3);
    let ended = daemon.stop();
    assert_eq!(ended.code(), 0, "{}", ended.stderr);
    assert_eq!(ended.stdout, "");
    assert!(ended.stderr.contains("closed and kept"), "{}", ended.stderr);
    assert_state(&data, "closed");
    assert_stored(&data, &seen);
    assert!(database::is_whole(&data));
}

#[test]
fn what_was_kept_outlives_a_kill() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let daemon = simulated(&scratch, &data, "20");
    let seen = daemon.live().first(|state| kept(state) >= 3);
    daemon.process.kill();

    let next = simulated(&scratch, &data, "20");
    let listed = next.get("/api/visits").json();
    let id = seen["visit"]["id"].as_str().unwrap();
    let of = |id: &str| listed.as_array().unwrap().iter().find(|one| one["id"] == id).cloned();
    assert_eq!(of(id).expect("the visit is listed")["state"], "interrupted", "{listed}");
    let stored = next.get(&format!("/api/visits/{id}")).json();
    for one in seen["repetitions"].as_array().unwrap() {
        let found = stored["repetitions"].as_array().unwrap().iter().find(|r| r["id"] == one["id"]);
        let found = found.unwrap_or_else(|| panic!("{one} is lost"));
        assert_eq!(found["end_range_deg"], one["end_range_deg"]);
        assert_eq!(found["value_kind"], "live");
    }
    assert_eq!(next.stop().code(), 0);
    let states: Vec<Value> = visits(&data).iter().map(|one| one["state"].clone()).collect();
    assert!(states.contains(&"interrupted".into()) && states.contains(&"closed".into()));
    assert!(database::is_whole(&data));
}

#[test]
fn a_kill_costs_one_second_of_samples_at_most() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let daemon = simulated(&scratch, &data, "1");
    let seen = daemon.live().first(|state| state["time_s"].as_f64() > Some(4.0));
    daemon.process.kill();
    let (seen_s, stored_s) = (seen["time_s"].as_f64().unwrap(), database::last_raw_sample_s(&data));
    println!("seen {seen_s:.2} s, stored up to {stored_s:.2} s");
    assert!(stored_s >= seen_s - 1.0, "seen {seen_s:.2} s, but stored up to {stored_s:.2} s only");
}

/// The one visit of the folder is in this state.
fn assert_state(data: &Path, state: &str) {
    let listed = visits(data);
    assert_eq!(listed.len(), 1, "{listed:?}");
    assert_eq!(listed[0]["state"], state, "{listed:?}");
    assert_eq!(listed[0]["person"], "P-901");
}

/// At least as many samples are stored as were shown to be received.
fn assert_stored(data: &Path, seen: &Value) {
    let stored = database::raw_samples(data);
    for sensor in seen["sensors"].as_array().unwrap() {
        let (role, received) = (sensor["role"].as_str().unwrap(), &sensor["received"]);
        let received = received.as_u64().unwrap();
        assert!(received > 0, "{role}");
        assert!(stored[role] >= received, "{role}: {} of {received}", stored[role]);
    }
}
