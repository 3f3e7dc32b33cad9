//! A folder with one recording: Motion CSVs and an Events CSV, as `endarc simulate` writes them.

use std::fs::File;
use std::path::Path;

use endarc_protocol::events_csv;
use endarc_protocol::words::{SensorRole, Side};

use super::{ImportError, Recording, Sensor, motion};

/// Reads it. `side` says which leg `shank.csv` was worn on.
pub(super) fn read(folder: &Path, side: Option<Side>) -> Result<Recording, ImportError> {
    let mut files: Vec<_> = SensorRole::ALL
        .iter()
        .map(|role| (*role, folder.join(format!("{role}.csv"))))
        .filter(|(_, path)| path.exists())
        .collect();
    let unnamed = folder.join("shank.csv");
    match (files.iter().any(|(role, _)| role.side().is_some()), unnamed.exists(), side) {
        (true, _, _) => {}
        (false, false, _) => return Err(ImportError::Nothing(folder.to_owned())),
        (false, true, None) => return Err(ImportError::NoSide(folder.to_owned())),
        (false, true, Some(side)) => files.push((SensorRole::shank(side), unnamed)),
    }
    let mut sensors = Vec::new();
    for (role, path) in files {
        let samples = motion::read(&path)?;
        sensors.push(Sensor { role, label: role.to_string(), samples, calibration: None });
    }
    let path = folder.join("events.csv");
    let file =
        File::open(&path).map_err(|source| ImportError::Io { path: path.clone(), source })?;
    let spans = events_csv::read(file).map_err(|source| ImportError::Events { path, source })?;
    Ok(Recording { name: folder.display().to_string(), spans, sensors, ..Recording::default() })
}
