//! Wrong input: one line that names the file, the place in it and the remedy; exit status 1; and
//! nothing is written.

mod events;
mod files;
mod motion;
mod output;
mod usage;

use std::path::Path;

use endarc_tests::{Ended, Scratch};

/// The header of a Motion CSV.
const HEADER: &str = "time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z";

/// A sensor at rest, 100 Hz: so many rows, the first on line 2.
fn resting(rows: usize) -> Vec<String> {
    (0..rows)
        .map(|row| format!("{:.3},0.1,-9.8,0.2,0.001,0.002,-0.001", row as f64 / 100.0))
        .collect()
}

/// A Motion CSV with these rows.
fn motion(rows: &[String]) -> String {
    format!("{HEADER}\n{}\n", rows.join("\n"))
}

/// Holds a refusal: status 1, nothing on stdout, one line on stderr with all these words.
fn assert_refused(ended: &Ended, file: &Path, words: &[&str]) {
    assert_eq!(ended.code(), 1, "{ended:?}");
    assert_eq!(ended.stdout, "");
    let said = ended.stderr.trim_end();
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.starts_with("endarc: "), "{said}");
    assert!(said.contains(&file.display().to_string()), "the file is not named: {said}");
    for word in words {
        assert!(said.contains(word), "'{word}' is not said: {said}");
    }
}

/// Holds that the folder has only these files.
fn assert_only(scratch: &Scratch, names: &[&str]) {
    assert_eq!(scratch.names(), names);
}
