//! A Motion-BIDS dataset: ours, or one from elsewhere whose sensors are worn on a shank.

use std::fs;
use std::path::{Path, PathBuf};

use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{SensorRole, TestKind, TrialType};
use jiff::Timestamp;
use serde_json::Value;

use super::sheet::{Row, Sheet};
use super::{ImportError, Recording, bids_motion, tables};
use crate::store::WallTime;

/// Reads every recording of it: a subject's session's task.
pub(super) fn read(folder: &Path) -> Result<Vec<Recording>, ImportError> {
    let mut all = Vec::new();
    for subject in below(folder, "sub-")? {
        let mut sessions = below(&subject, "ses-")?;
        if sessions.is_empty() {
            sessions.push(subject.clone());
        }
        for session in sessions {
            for prefix in prefixes(&session.join("motion"))? {
                all.push(recording(folder, &subject, &session, &prefix)?);
            }
        }
    }
    match all.is_empty() {
        true => Err(ImportError::NoRaw(folder.to_owned())),
        false => Ok(all),
    }
}

/// Folders in a folder whose names begin so, sorted.
fn below(folder: &Path, begin: &str) -> Result<Vec<PathBuf>, ImportError> {
    let begins = |path: &PathBuf| path.is_dir() && name(path).starts_with(begin);
    Ok(inside(folder)?.into_iter().filter(begins).collect())
}

fn inside(folder: &Path) -> Result<Vec<PathBuf>, ImportError> {
    let failed = |source| ImportError::Io { path: folder.to_owned(), source };
    let entries = fs::read_dir(folder).map_err(failed)?.collect::<Result<Vec<_>, _>>();
    let mut paths: Vec<PathBuf> =
        entries.map_err(failed)?.into_iter().map(|entry| entry.path()).collect();
    paths.sort();
    Ok(paths)
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// What the names of each recording's files begin with, up to the tracking system.
fn prefixes(folder: &Path) -> Result<Vec<PathBuf>, ImportError> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let prefix = |path: &PathBuf| {
        let name = name(path);
        let (begin, _) = name.strip_suffix("_motion.tsv")?.split_once("_tracksys-")?;
        Some(folder.join(begin))
    };
    let mut prefixes: Vec<PathBuf> = inside(folder)?.iter().filter_map(prefix).collect();
    prefixes.dedup();
    Ok(prefixes)
}

fn recording(
    dataset: &Path,
    subject: &Path,
    session: &Path,
    prefix: &Path,
) -> Result<Recording, ImportError> {
    let mut recording = Recording { name: name(prefix), ..Recording::default() };
    let label = name(subject).trim_start_matches("sub-").to_owned();
    recording.person = label.parse().ok();
    about_person(dataset, subject, &mut recording)?;
    about_session(subject, session, &mut recording)?;
    let begin = format!("{}_tracksys-", name(prefix));
    for path in inside(&session.join("motion"))? {
        let name = name(&path);
        let Some(stem) = name.strip_suffix("_motion.tsv").filter(|_| name.starts_with(&begin))
        else {
            continue;
        };
        let stem = path.with_file_name(stem);
        let sidecar = json(&with(&stem, "_motion.json"))?;
        if recording.test.is_none() {
            recording.test = sidecar["TaskName"].as_str().and_then(test);
        }
        recording.sensors.extend(bids_motion::sensors(&stem, &sidecar)?);
        let own = with(&stem, "_events.tsv");
        if own.exists() && recording.spans.is_empty() {
            events(&own, &mut recording)?;
        }
    }
    let shared = with(prefix, "_events.tsv");
    if shared.exists() {
        events(&shared, &mut recording)?;
    }
    if recording.spans.is_empty() {
        let problem = "no row of its trial_type says neutral, baseline or retest: nothing says when \
                       repetitions were made";
        return Err(ImportError::at(&shared, problem));
    }
    Ok(recording)
}

/// A path with something added to its name.
pub(super) fn with(stem: &Path, end: &str) -> PathBuf {
    stem.with_file_name(format!("{}{end}", name(stem)))
}

fn json(path: &Path) -> Result<Value, ImportError> {
    let text = fs::read_to_string(path)
        .map_err(|source| ImportError::Io { path: path.to_owned(), source })?;
    serde_json::from_str(&text).map_err(|error| ImportError::at(path, format!("no JSON: {error}")))
}

/// Without what a label does not know, in lower case.
pub(super) fn bare(text: &str) -> String {
    text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_lowercase()
}

/// The test that a task is.
fn test(task: &str) -> Option<TestKind> {
    TestKind::ALL.iter().copied().find(|test| bare(test.as_str()) == bare(task))
}

/// Where a tracked point is.
pub(super) fn role(tracked_point: &str) -> Option<SensorRole> {
    SensorRole::ALL.iter().copied().find(|role| bare(role.as_str()) == bare(tracked_point))
}

fn about_person(
    dataset: &Path,
    subject: &Path,
    recording: &mut Recording,
) -> Result<(), ImportError> {
    let path = dataset.join("participants.tsv");
    if !path.exists() {
        return Ok(());
    }
    let sheet = Sheet::tsv(&path)?;
    let own = |row: &Row<'_>| row.text("participant_id") == Some(&name(subject));
    if let Some(row) = sheet.rows().find(own)
        && let Some(code) = row.get("person", "code")?
    {
        recording.person = Some(code);
    }
    Ok(())
}

fn about_session(
    subject: &Path,
    session: &Path,
    recording: &mut Recording,
) -> Result<(), ImportError> {
    let path = subject.join(format!("{}_sessions.tsv", name(subject)));
    if !path.exists() {
        return Ok(());
    }
    let sheet = Sheet::tsv(&path)?;
    let own = |row: &Row<'_>| row.text("session_id") == Some(&name(session));
    let Some(row) = sheet.rows().find(own) else { return Ok(()) };
    // Times of other makers may lack a zone; then they do not say when it was.
    let utc: Option<Timestamp> = row.text("acq_time").and_then(|text| text.parse().ok());
    let offset_s = row.get("utc_offset_s", "whole number")?.unwrap_or(0);
    recording.started = utc.map(|utc| WallTime { utc, offset_s, zone: None });
    recording.test = row.get("test", "test")?;
    recording.tilt = tables::tilt(
        &row,
        ["table_tilt", "table_tilt_sd", "table_head_tilt", "table_head_tilt_sd"],
    )?;
    recording.primary =
        row.get("primary_side", "side")?.zip(row.get("primary_direction", "direction")?);
    recording.end_criterion = row.get("end_criterion", "end criterion")?;
    Ok(())
}

/// What a key or pedal did, as it stands among the events.
const MARKS: [&str; 3] = ["mark", "next", "undo"];

fn events(path: &Path, recording: &mut Recording) -> Result<(), ImportError> {
    for row in Sheet::tsv(path)?.rows() {
        let Some(text) = row.text("trial_type") else { continue };
        let onset_s = row.must("onset", "number")?;
        if let Ok(trial_type) = text.parse::<TrialType>() {
            recording.spans.push(Event {
                onset_s,
                duration_s: row.get("duration", "number")?.unwrap_or(0.0),
                trial_type,
                side: row.get("side", "side")?,
            });
        } else if MARKS.contains(&text) {
            recording.marks.push((onset_s, text.to_owned()));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tasks_and_tracked_points_are_known_by_their_letters() {
        assert_eq!(test("prone-hip-rotation"), Some(TestKind::ProneHipRotation));
        assert_eq!(test("supine9090hiprotation"), Some(TestKind::Supine9090HipRotation));
        assert_eq!(test("walking"), None);
        assert_eq!(role("LeftShank"), Some(SensorRole::LeftShank));
        assert_eq!(role("left_shank"), Some(SensorRole::LeftShank));
        assert_eq!(role("Head"), None);
    }
}
