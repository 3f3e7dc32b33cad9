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
use endarc_tests::{Daemon, Scratch, scenario};

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
    assert_eq!(state["visit"]["person"], "P-901");
    assert_eq!(state["saving"], true);
    let visits = daemon.get("/api/visits").json();
    assert_eq!(visits[0]["state"], "open", "{visits}");
    assert_eq!(visits[0]["id"], state["visit"]["id"]);
}
