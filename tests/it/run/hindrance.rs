//! What stands in a running daemon's way, and costs nothing of what is recorded.

use std::io::Write;
use std::net::TcpStream;
use std::path::Path;

use endarc_tests::daemon::kept;
use endarc_tests::{Deadline, Scratch, database, run, scenario};
use serde_json::Value;

use super::simulated;

#[test]
fn a_database_that_is_locked_for_seconds_loses_nothing() {
    // Hazard H30: another program holds the write lock for 3 s.
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let mut daemon = simulated(&scratch, &data, "20");
    let mut live = daemon.live();
    let began = live.first(|state| time_s(state) > 10.0);
    let held = database::hold_writes(&data);
    let after = live.first(|state| time_s(state) > time_s(&began) + 60.0);
    assert_eq!(after["saving"], true, "{after}");
    drop(held);
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let ended = daemon.stop();
    assert_eq!(ended.code(), 0, "{}", ended.stderr);
    assert_all_stored(&scratch, &data);
}

#[test]
fn a_viewer_that_stops_reading_holds_nobody_up() {
    // Hazard H43, in short: it asks for the live stream and reads nothing of it.
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let mut daemon = simulated(&scratch, &data, "20");
    let authority = daemon.page.trim_start_matches("http://").trim_end_matches('/').to_owned();
    let mut silent = TcpStream::connect(&authority).unwrap();
    write!(silent, "GET /api/live HTTP/1.1\r\nHost: {authority}\r\n\r\n").unwrap();
    daemon.live().first(|state| kept(state) >= 8);
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let ended = daemon.stop();
    assert_eq!(ended.code(), 0, "{}", ended.stderr);
    assert_all_stored(&scratch, &data);
    drop(silent);
}

fn time_s(state: &Value) -> f64 {
    state["time_s"].as_f64().unwrap()
}

/// Every sample that the scenario sends is in the database.
pub(super) fn assert_all_stored(scratch: &Scratch, data: &Path) {
    let folder = scratch.at("sent");
    let scenario = scratch.file("sent.toml", scenario::two_legs(3)).display().to_string();
    run(["simulate", &scenario, "--output", &folder.display().to_string()]).done();
    let stored = database::raw_samples(data);
    assert_eq!(stored.len(), 3, "{stored:?}");
    for (role, count) in &stored {
        let text = std::fs::read_to_string(folder.join(format!("{role}.csv"))).unwrap();
        assert_eq!(*count, text.lines().count() as u64 - 1, "{role}");
    }
    assert!(database::is_whole(data));
}
