//! `endarc check` and `endarc visits`: one line for each thing that recording needs, and nothing is
//! changed by asking.

use std::fs;
use std::path::Path;

use endarc_tests::{Ended, Process, Scratch, database, endarc, run};

/// What is checked, in this order.
const CHECKED: [&str; 6] = ["adapter", "permissions", "profiles", "database", "disk", "clock"];

#[test]
fn a_new_folder_is_fit_and_is_not_made_by_asking() {
    let scratch = Scratch::new();
    let ended = check(&scratch, &scratch.at("data")).done();
    for (line, what) in ended.stdout.lines().zip(CHECKED) {
        let mut words = line.split_whitespace();
        assert_eq!(words.next(), Some(what), "{line}");
        // Whether there is Bluetooth, and when the clock was set, is the machine's affair.
        let state = words.next().unwrap();
        assert!(state == "ok" || state == "note", "{line}");
        assert!(words.next().is_some(), "{line}");
    }
    assert_eq!(ended.stdout.lines().count(), CHECKED.len(), "{}", ended.stdout);
    assert_eq!(scratch.names(), Vec::<String>::new());
}

#[test]
fn a_file_in_the_folders_place_fails() {
    let scratch = Scratch::new();
    let file = scratch.file("data", "not a folder");
    let ended = check(&scratch, &file);
    assert_fails(&ended, "permissions", &file);
}

#[test]
fn a_damaged_database_fails_and_is_left_as_it_is() {
    let scratch = Scratch::new();
    let data = scratch.at("data");
    run(["demo", "--fast", "--json", "--data-dir", &data.display().to_string()]).done();
    check(&scratch, &data).done();
    let file = database::file(&data);
    let mut bytes = fs::read(&file).unwrap();
    bytes[8192..12288].fill(0); // the page that hazard H34 (c) overwrites
    fs::write(&file, &bytes).unwrap();
    assert_fails(&check(&scratch, &data), "database", &file);
    assert_eq!(fs::read(&file).unwrap(), bytes);
}

#[test]
fn a_profile_of_ones_own_that_is_wrong_fails_with_its_line() {
    let scratch = Scratch::new();
    let folder = scratch.at("settings/endarc/profiles");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("mine.toml");
    fs::write(&file, "name = \"mine\"\nrate_hz = \"often\"\n").unwrap();
    let ended = check(&scratch, &scratch.at("data"));
    assert_fails(&ended, "profiles", &file);
    assert!(ended.stdout.contains("line 2") && ended.stdout.contains("rate_hz"), "{ended:?}");
}

#[test]
fn a_folder_without_visits_is_told_from_one_that_is_not_there() {
    let scratch = Scratch::new();
    let visits =
        |folder: &Path| run(["visits", "--json", "--data-dir", &folder.display().to_string()]);
    let empty = visits(scratch.path()).done();
    assert_eq!(empty.json(), serde_json::json!([]));
    assert_eq!(scratch.names(), Vec::<String>::new());
    let gone = scratch.at("gone");
    let refused = visits(&gone);
    assert_eq!((refused.code(), refused.stdout.as_str()), (1, ""));
    assert!(refused.stderr.contains(&gone.display().to_string()), "{}", refused.stderr);
    assert!(refused.stderr.contains("--data-dir"), "{}", refused.stderr);
}

/// `endarc check` with settings in a scratch folder.
fn check(scratch: &Scratch, data: &Path) -> Ended {
    let mut command = endarc(["check", "--data-dir"]);
    command.arg(data).env("XDG_CONFIG_HOME", scratch.at("settings"));
    Process::start(command).end()
}

/// One line fails and names the file; the exit status says so too.
fn assert_fails(ended: &Ended, what: &str, file: &Path) {
    assert_eq!(ended.code(), 1, "{ended:?}");
    assert_eq!(ended.stdout.lines().count(), CHECKED.len(), "{}", ended.stdout);
    let line = ended.stdout.lines().find(|line| line.starts_with(what)).unwrap();
    assert!(line.contains("FAILS"), "{line}");
    assert!(line.contains(&file.display().to_string()), "{line}");
    assert!(ended.stderr.contains(what), "{}", ended.stderr);
}
