//! An export of tables with raw samples, as it left.

use std::path::Path;

use endarc_analysis::levelling::{LevellingMethod, TableLevel};
use endarc_protocol::events_csv::Event;
use endarc_protocol::words::SensorRole;
use jiff::Timestamp;

use super::sheet::{Row, Sheet};
use super::{ImportError, Recording, Sensor, Tilt, motion};
use crate::export::recordings;
use crate::store::WallTime;

/// The table of visits, by which such a folder is known.
pub(super) const VISITS: &str = "visits.csv";

/// Reads every visit of it.
pub(super) fn read(folder: &Path) -> Result<Vec<Recording>, ImportError> {
    if !folder.join(recordings::FOLDER).is_dir() {
        return Err(ImportError::NoRaw(folder.to_owned()));
    }
    let sheet = |name: &str| Sheet::csv(&folder.join(name));
    let (spans, marks, sensors) = (sheet("spans.csv")?, sheet("marks.csv")?, sheet("sensors.csv")?);
    let mut all = Vec::new();
    for row in sheet(VISITS)?.rows() {
        let code = row.needed("visit")?;
        let of_visit = |row: &Row<'_>| row.text("visit") == Some(code);
        let mut recording = visit(&row, code)?;
        for row in spans.rows().filter(of_visit) {
            recording.spans.push(span(&row)?);
        }
        for row in marks.rows().filter(of_visit) {
            recording.marks.push((row.must("at_s", "number")?, row.needed("kind")?.to_owned()));
        }
        for row in sensors.rows().filter(of_visit) {
            recording.sensors.extend(sensor(&row, &folder.join(recordings::FOLDER).join(code))?);
        }
        all.push(recording);
    }
    Ok(all)
}

fn visit(row: &Row<'_>, code: &str) -> Result<Recording, ImportError> {
    let started = row.get("started_at", "time with its offset")?;
    let offset_s = row.text("started_at").map_or(0, offset_s);
    Ok(Recording {
        name: code.to_owned(),
        person: row.get("person", "code")?,
        test: row.get("test", "test")?,
        started: started.map(|utc: Timestamp| WallTime { utc, offset_s, zone: None }),
        tilt: tilt(
            row,
            [
                "table_tilt_deg",
                "table_tilt_sd_deg",
                "table_head_tilt_deg",
                "table_head_tilt_sd_deg",
            ],
        )?,
        primary: row.get("primary_side", "side")?.zip(row.get("primary_direction", "direction")?),
        end_criterion: row.get("end_criterion", "end criterion")?,
        ..Recording::default()
    })
}

/// The offset at the end of an RFC 3339 time, s, east positive; none where it ends otherwise.
pub(super) fn offset_s(time: &str) -> i32 {
    let Some((_, end)) = time.split_at_checked(time.len().saturating_sub(6)) else { return 0 };
    let sign = match end.chars().next() {
        Some('+') => 1,
        Some('-') => -1,
        _ => return 0,
    };
    let number = |part: &str| part.parse::<i32>().ok();
    let mut parts = end.get(1..).unwrap_or_default().split(':').map(number);
    match (parts.next().flatten(), parts.next().flatten()) {
        (Some(hours), Some(minutes)) => sign * (3600 * hours + 60 * minutes),
        _ => 0,
    }
}

/// How the table stood: sideways with its uncertainty, lengthwise with its.
pub(super) fn tilt(row: &Row<'_>, columns: [&str; 4]) -> Result<Tilt, ImportError> {
    let mut told: [Option<f64>; 4] = [None; 4];
    for (told, column) in told.iter_mut().zip(columns) {
        *told = row.get(column, "number")?;
    }
    Ok(match told {
        [Some(sideways), Some(sideways_sd), Some(head), Some(head_sd)] => Tilt::Level(TableLevel {
            sideways_rad: sideways.to_radians(),
            sideways_sd_rad: sideways_sd.to_radians(),
            head_foot_rad: head.to_radians(),
            head_foot_sd_rad: head_sd.to_radians(),
            // How it was found does not leave; nothing is computed from it.
            method: LevellingMethod::Turned,
        }),
        [Some(sideways), ..] => Tilt::Degrees(sideways),
        _ => Tilt::Unknown,
    })
}

fn span(row: &Row<'_>) -> Result<Event, ImportError> {
    Ok(Event {
        onset_s: row.must("onset_s", "number")?,
        duration_s: row.get("duration_s", "number")?.unwrap_or(0.0),
        trial_type: row.must("trial_type", "kind of span")?,
        side: row.get("side", "side")?,
    })
}

/// A sensor with its samples; one that was strapped on anew is in the same file.
fn sensor(row: &Row<'_>, folder: &Path) -> Result<Option<Sensor>, ImportError> {
    if row.get::<u32>("strap_epoch", "number")?.unwrap_or(0) > 0 {
        return Ok(None);
    }
    let role: SensorRole = row.must("role", "sensor role")?;
    Ok(Some(Sensor {
        role,
        label: row.needed("sensor")?.to_owned(),
        samples: motion::read(&folder.join(format!("{role}.csv")))?,
        calibration: row.get("calibration", "calibration")?,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_is_read_from_the_end_of_a_time() {
        assert_eq!(offset_s("2026-11-25T09:30:00+05:30"), 19_800);
        assert_eq!(offset_s("2026-11-25T09:30:00-03:00"), -10_800);
        assert_eq!(offset_s("2026-11-25T09:30:00Z"), 0);
        assert_eq!(offset_s(""), 0);
    }
}
