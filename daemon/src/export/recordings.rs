//! Raw samples as Motion CSVs, a folder for each visit: what `endarc analyse` and `endarc run
//! --source replay:DIR` read.

use std::io::Write;

use endarc_protocol::events_csv;
use endarc_protocol::motion_csv::COLUMNS;
use endarc_protocol::sample::{Flags, Sample};
use endarc_protocol::words::SensorRole;

use super::{ExportError, Folder, Leaving, Progress};
use crate::finalise;
use crate::store::Reader;

/// The folder with a folder for each visit.
pub const FOLDER: &str = "recordings";

/// The column behind those of a Motion CSV: what the decoder noticed of a sample.
pub const SATURATED: &str = "saturated";

/// Writes the raw samples and the spans of each visit; answers the paths of the Motion CSVs.
///
/// # Errors
/// When something cannot be read or written.
pub fn write(
    folder: &Folder,
    reader: &Reader,
    visits: &[Leaving],
) -> Result<Vec<String>, ExportError> {
    let mut paths = Vec::new();
    let mut progress = Progress::of(visits.iter().map(|visit| visit.roles().len()).sum());
    for visit in visits {
        for role in visit.roles() {
            let path = format!("{FOLDER}/{}/{role}.csv", visit.code);
            folder.write(&path, |out| motion(out, reader, visit, role))?;
            paths.push(path);
            progress.step();
        }
        let events = finalise::events(&visit.record);
        let path = format!("{FOLDER}/{}/events.csv", visit.code);
        folder.write(&path, |out| Ok(events_csv::write(out, &events)?))?;
    }
    progress.end();
    Ok(paths)
}

/// A Motion CSV with every digit that a sample has, so that it comes back bit by bit.
fn motion(
    out: &mut dyn Write,
    reader: &Reader,
    visit: &Leaving,
    role: SensorRole,
) -> Result<(), ExportError> {
    writeln!(out, "{},{SATURATED}", COLUMNS.join(","))?;
    for chunk in reader.raw_samples(visit.id(), role) {
        for sample in chunk? {
            let Sample { time_s, accel_m_s2: [ax, ay, az], gyro_rad_s: [gx, gy, gz], flags } =
                sample;
            let saturated = saturated(flags);
            writeln!(out, "{time_s},{ax},{ay},{az},{gx},{gy},{gz},{saturated}")?;
        }
    }
    Ok(())
}

/// What the decoder noticed, as a number: 1 accelerometer, 2 gyroscope, 3 both.
#[must_use]
pub const fn saturated(flags: Flags) -> u8 {
    flags.accel_saturated as u8 + 2 * flags.gyro_saturated as u8
}

/// The same number back; one that is none of these says nothing.
#[must_use]
pub const fn flags(saturated: u8) -> Flags {
    Flags { accel_saturated: saturated & 1 == 1, gyro_saturated: saturated & 2 == 2 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_decoder_noticed_comes_back() {
        for number in 0..4 {
            assert_eq!(saturated(flags(number)), number);
        }
    }
}
