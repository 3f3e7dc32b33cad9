//! `endarc run`: what a running daemon answers, how it ends, and what it keeps.

mod belongings;
mod ending;
mod exchange;
mod hindrance;
mod refusals;
mod replay;

use std::fs;
use std::path::Path;

use endarc_tests::daemon::kept;
use endarc_tests::{Daemon, Scratch, run, scenario};

/// A daemon on a simulated visit of about 160 s, at so many times real time.
fn simulated(scratch: &Scratch, data: &Path, speed: &str) -> Daemon {
    let file = scratch.file("scenario.toml", scenario::two_legs(3));
    Daemon::start(data, &format!("sim:{}", file.display()), &["--speed", speed])
}

#[test]
fn the_page_and_its_interface_answer() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let daemon = simulated(&scratch, &data, "10");
    assert_eq!(fs::read_to_string(data.join("address")).unwrap().trim(), daemon.page);

    let page = daemon.get("/");
    assert_eq!((page.status, page.media_type.as_str()), (200, "text/html"));
    assert!(page.body.contains("<title>endarc</title>"), "{}", page.body);

    let described = daemon.get("/api/openapi.json").json();
    assert!(described["openapi"].as_str().unwrap().starts_with("3.1"), "{described}");
    for path in ["/api/live", "/api/state", "/api/visits"] {
        assert!(described["paths"][path]["get"].is_object(), "{path} is not described");
    }

    let mut live = daemon.live();
    let first = live.first(|state| state["visit"].is_object());
    let state = daemon.get("/api/state").json();
    assert!(state["sequence"].as_u64() >= first["sequence"].as_u64(), "{state}");
    assert_eq!(state["legs"].as_array().unwrap().len(), 2, "{state}");
    let second = live.next().expect("states follow");
    assert!(second["sequence"].as_u64() > first["sequence"].as_u64());
    let state = live.first(|state| kept(state) > 0);
    assert_latencies(&daemon, &data);
    assert_eq!(state["visit"]["person"], "P-901");
    assert_eq!(state["saving"], true);
    let visits = daemon.get("/api/visits").json();
    assert_eq!(visits[0]["state"], "open", "{visits}");
    assert_eq!(visits[0]["id"], state["visit"]["id"]);
}

/// All ways of the data are measured, and `check --live` tells them.
fn assert_latencies(daemon: &Daemon, data: &Path) {
    let status = daemon.get("/api/status").json();
    for latency in status["latencies"].as_array().unwrap() {
        assert!(latency["count"].as_u64() > Some(0), "{latency}");
        let ms = |key: &str| latency[key].as_f64().unwrap();
        assert!(ms("p50_ms") <= ms("p99_ms") && ms("p99_ms") <= ms("max_ms"), "{latency}");
    }
    assert_eq!(status["sensors"].as_array().unwrap().len(), 3, "{status}");
    assert!(status["sensors"][0]["received"].as_u64() > Some(0), "{status}");
    let told = run(["check", "--live", "--data-dir", &data.display().to_string()]).done().stdout;
    for word in ["decoded", "angle", "page event", "stored", "left-shank", "processor", "memory"] {
        assert!(told.contains(word), "{word} is not in {told}");
    }
    println!("{told}");
}
