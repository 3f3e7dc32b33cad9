//! Why a daemon does not start: one clear line each, and exit status 1.

use std::ffi::OsString;
use std::fs;
use std::net::TcpListener;
use std::path::Path;

use endarc_tests::daemon::visits;
use endarc_tests::{Ended, Scratch, database, run};

use super::simulated;

#[test]
fn a_second_daemon_is_sent_to_the_first() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let first = simulated(&scratch, &data, "1");
    let second = start(&data, &["--source", "sim:clinic", "--listen", "127.0.0.1:0"]);
    assert_refused(&second, &[&data.display().to_string(), &first.page, "--data-dir"]);
    assert_eq!(first.get("/api/state").status, 200, "the first goes on");
    first.process.kill();
    // The lock went with the process: nothing stale stands in the way.
    let third = simulated(&scratch, &data, "1");
    assert_eq!(third.stop().code(), 0);
}

#[test]
fn a_taken_port_is_named() {
    let scratch = Scratch::new();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap();
    let ended =
        start(&scratch.at("data"), &["--source", "sim:clinic", "--listen", &address.to_string()]);
    assert_refused(&ended, &[&address.port().to_string(), "taken", "--listen"]);
    assert_eq!(visits(&scratch.at("data")).len(), 0, "no visit was begun");
}

#[test]
fn only_this_computer_is_served() {
    let scratch = Scratch::new();
    let ended = start(&scratch.at("data"), &["--source", "sim:clinic", "--listen", "0.0.0.0:0"]);
    assert_refused(&ended, &["0.0.0.0", "loopback", "127.0.0.1"]);
}

#[test]
fn a_folder_that_cannot_be_written_is_named() {
    let scratch = Scratch::new();
    let file = scratch.file("data", "a file, not a folder");
    let below = file.join("below");
    // The tests may run as root, who may write everywhere but there.
    let kernel = Path::new("/proc/endarc");
    for folder in [file.as_path(), &below, kernel] {
        let ended = start(folder, &["--source", "sim:clinic", "--listen", "127.0.0.1:0"]);
        assert_refused(&ended, &[&folder.display().to_string(), "--data-dir"]);
    }
    assert_eq!(fs::read_to_string(file).unwrap(), "a file, not a folder");
}

#[test]
fn a_locked_database_is_named() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    run(["demo", "--fast", "--json", "--data-dir", &data.display().to_string()]).done();
    let held = database::lock(&data);
    let ended = start(&data, &["--source", "sim:clinic", "--listen", "127.0.0.1:0"]);
    assert_refused(&ended, &[&database::file(&data).display().to_string(), "locked", "close"]);
    drop(held);
    assert_eq!(visits(&data).len(), 1, "the visit is still there");
}

#[test]
fn a_damaged_database_is_left_as_it_is() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    fs::create_dir(&data).unwrap();
    let file = database::file(&data);
    fs::write(
        &file,
        "not a database at all, but longer than the header of one is, surely. ".repeat(9),
    )
    .unwrap();
    let before = fs::read(&file).unwrap();
    let ended = start(&data, &["--source", "sim:clinic", "--listen", "127.0.0.1:0"]);
    assert_refused(&ended, &[&file.display().to_string(), "damaged", "backup"]);
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn a_source_must_be_there() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    let lost = scratch.at("lost.toml").display().to_string();
    let empty = scratch.path().display().to_string();
    assert_refused(&start(&data, &["--listen", "127.0.0.1:0"]), &["--source sim:clinic"]);
    let sim = format!("sim:{lost}");
    assert_refused(&start(&data, &["--source", &sim, "--listen", "127.0.0.1:0"]), &[&lost]);
    let replay = format!("replay:{empty}");
    let ended = start(&data, &["--source", &replay, "--listen", "127.0.0.1:0"]);
    assert_refused(&ended, &[&empty, "shank.csv"]);
    let unsided = scratch.file("shank.csv", "time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z\n");
    let ended = start(&data, &["--source", &replay, "--listen", "127.0.0.1:0"]);
    assert_refused(&ended, &["--side"]);
    fs::remove_file(unsided).unwrap();
}

/// `endarc run` that is not expected to start.
fn start(data: &Path, options: &[&str]) -> Ended {
    let mut arguments: Vec<OsString> = vec!["run".into(), "--data-dir".into(), data.into()];
    arguments.extend(options.iter().map(Into::into));
    run(arguments)
}

fn assert_refused(ended: &Ended, words: &[&str]) {
    assert_eq!(ended.code(), 1, "{ended:?}");
    assert_eq!(ended.stdout, "");
    let said = ended.stderr.trim_end();
    assert_eq!(said.lines().count(), 1, "{said}");
    for word in words {
        assert!(said.contains(word), "'{word}' is not said: {said}");
    }
}
