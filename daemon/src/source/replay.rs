//! A folder with a recording: Motion CSVs and events, played as it was.
//!
//! The folder holds `events.csv` and `left-shank.csv`, `right-shank.csv`, `pelvis.csv` as far as
//! sensors were worn; or `shank.csv` and perhaps `pelvis.csv`, with the leg named beside it.

use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use endarc_protocol::events_csv::{self, Event, EventsCsvError};
use endarc_protocol::motion_csv::{self, MotionCsvError};
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side, TestKind};

use super::event::{SourceEvent, SourceInfo, SourceSensor};
use super::{Source, sim};
use crate::store::words::Source as SourceKind;
use crate::visit::Marks;

/// The name of the events in a folder.
const EVENTS: &str = "events.csv";
/// The name of the one shank sensor of a folder that does not say which leg.
const SHANK: &str = "shank.csv";

/// Why a folder cannot be played back.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// No shank sensor in it.
    #[error(
        "{}: there is no left-shank.csv, right-shank.csv or shank.csv in this folder", .0.display()
    )]
    NoShank(PathBuf),
    /// Which leg was it?
    #[error("{}: shank.csv does not say which leg it was: add --side left or --side right", .0.display())]
    NoSide(PathBuf),
    /// A side was named, but the files say it already.
    #[error("{}: the files here say which leg they are of: leave --side out", .0.display())]
    SideTwice(PathBuf),
    /// A file cannot be opened.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A Motion CSV is not one.
    #[error("{}: {source}", path.display())]
    Motion {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: MotionCsvError,
    },
    /// The events are not an Events CSV.
    #[error("{}: {source}", path.display())]
    Events {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: EventsCsvError,
    },
}

/// Reads a folder whole. `side` says which leg `shank.csv` was worn on.
///
/// # Errors
/// [`ReplayError`] names the file, the line and the remedy.
pub fn replay(folder: &Path, side: Option<Side>, test: TestKind) -> Result<Source, ReplayError> {
    let files = files(folder, side)?;
    let path = folder.join(EVENTS);
    let events =
        events_csv::read(open(&path)?).map_err(|source| ReplayError::Events { path, source })?;
    let mut recordings = Vec::new();
    for (role, path) in files {
        let samples = motion_csv::read(open(&path)?)
            .map_err(|source| ReplayError::Motion { path: path.clone(), source })?;
        recordings.push((role, path, samples));
    }
    Ok(source(recordings, &events, test))
}

fn open(path: &Path) -> Result<File, ReplayError> {
    File::open(path).map_err(|source| ReplayError::Io { path: path.to_owned(), source })
}

/// Which file is which sensor's.
fn files(folder: &Path, side: Option<Side>) -> Result<Vec<(SensorRole, PathBuf)>, ReplayError> {
    if let Err(source) = std::fs::read_dir(folder) {
        return Err(ReplayError::Io { path: folder.to_owned(), source });
    }
    let named = |role: SensorRole| (role, folder.join(format!("{role}.csv")));
    let mut files: Vec<_> = Side::ALL
        .iter()
        .map(|&side| named(SensorRole::shank(side)))
        .filter(|(_, path)| path.exists())
        .collect();
    let unnamed = folder.join(SHANK);
    match (files.is_empty(), unnamed.exists(), side) {
        (true, false, _) => return Err(ReplayError::NoShank(folder.to_owned())),
        (true, true, None) => return Err(ReplayError::NoSide(folder.to_owned())),
        (true, true, Some(side)) => files.push((SensorRole::shank(side), unnamed)),
        (false, _, Some(_)) => return Err(ReplayError::SideTwice(folder.to_owned())),
        (false, _, None) => {}
    }
    let pelvis = named(SensorRole::Pelvis);
    if pelvis.1.exists() {
        files.push(pelvis);
    }
    Ok(files)
}

fn source(
    recordings: Vec<(SensorRole, PathBuf, Vec<Sample>)>,
    events: &[Event],
    test: TestKind,
) -> Source {
    let sensor = |(role, path, _): &(SensorRole, PathBuf, Vec<Sample>)| SourceSensor {
        role: *role,
        address: format!("replay:{}", path.file_name().unwrap_or_default().to_string_lossy()),
        name: None,
        profile: None,
    };
    let sensors = recordings.iter().map(sensor).collect();
    let mut played: Vec<SourceEvent> = sim::marks(events);
    for (role, _, samples) in recordings {
        played.extend(samples.into_iter().map(|sample| SourceEvent::Sample { role, sample }));
    }
    // Stable, so that a mark stays before the sample of the same moment.
    played.sort_by(|a, b| a.time_s().total_cmp(&b.time_s()));
    let info = SourceInfo {
        kind: SourceKind::Replay,
        person: None,
        test,
        sensors,
        marks: Marks::Source,
        start_s: played.first().map_or(0.0, SourceEvent::time_s),
    };
    let end_s = played.last().map_or(info.start_s, SourceEvent::time_s);
    Source::known(info, played.into_iter(), end_s)
}
