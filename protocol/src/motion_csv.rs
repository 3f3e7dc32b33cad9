//! Motion CSV: one sensor's raw samples as text.
//!
//! Header `time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z` in any order, other columns ignored; seconds,
//! m/s² (specific force), rad/s. Rows may be missing; times strictly increase.

use std::io::{self, Read, Write};

use crate::sample::{Flags, Sample};

/// The columns, in the order in which they are written.
pub const COLUMNS: [&str; 7] = ["time_s", "acc_x", "acc_y", "acc_z", "gyr_x", "gyr_y", "gyr_z"];

/// Why a Motion CSV was refused. Lines count from 1, the header being line 1.
#[derive(Debug, thiserror::Error)]
pub enum MotionCsvError {
    /// Not a byte in it.
    #[error("the file is empty: expected the header {}", COLUMNS.join(","))]
    Empty,
    /// A column is missing from the header.
    #[error("line 1: the header lacks the column '{column}': expected {}", COLUMNS.join(","))]
    MissingColumn {
        /// The first column that is missing.
        column: &'static str,
    },
    /// A header and nothing below it.
    #[error("no samples: there is no row below the header")]
    NoRows,
    /// The row's fields do not match the header: a cut-off line, say.
    #[error("line {line}: {got} fields where the header has {expected}: was the file cut off?")]
    FieldCount {
        /// The line.
        line: u64,
        /// Fields found.
        got: usize,
        /// Fields in the header.
        expected: usize,
    },
    /// A field that is not a number.
    #[error("line {line}, column {column}: '{text}' is not a number")]
    NotANumber {
        /// The line.
        line: u64,
        /// The column's name.
        column: &'static str,
        /// What stands there.
        text: String,
    },
    /// A time that is NaN or infinite.
    #[error("line {line}, column time_s: the time is not finite")]
    TimeNotFinite {
        /// The line.
        line: u64,
    },
    /// A time that does not come after the one before.
    #[error(
        "line {line}: time {time_s} s does not come after {previous_s} s: \
         sort the rows by time_s and remove repeats"
    )]
    TimeNotIncreasing {
        /// The line.
        line: u64,
        /// The time that stands there, s.
        time_s: f64,
        /// The time of the row before, s.
        previous_s: f64,
    },
    /// The text is not CSV, not UTF-8, or could not be read.
    #[error("not readable as CSV: {0}")]
    Csv(#[from] csv::Error),
}

/// Reads a whole Motion CSV. Axis values that are not finite are kept as they stand: whoever
/// integrates the samples rejects and counts them.
///
/// # Errors
/// Any [`MotionCsvError`]; nothing is returned of a file that has one.
pub fn read(input: impl Read) -> Result<Vec<Sample>, MotionCsvError> {
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(input);
    let header = reader.headers()?.clone();
    if header.is_empty() {
        return Err(MotionCsvError::Empty);
    }
    let mut places = [0_usize; 7];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        *place = header
            .iter()
            .position(|name| name.trim_start_matches('\u{feff}') == column)
            .ok_or(MotionCsvError::MissingColumn { column })?;
    }
    let mut samples: Vec<Sample> = Vec::new();
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record)? {
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() != header.len() {
            return Err(MotionCsvError::FieldCount {
                line,
                got: record.len(),
                expected: header.len(),
            });
        }
        samples.push(sample(&record, &places, line, samples.last().map(|sample| sample.time_s))?);
    }
    if samples.is_empty() {
        return Err(MotionCsvError::NoRows);
    }
    Ok(samples)
}

fn sample(
    record: &csv::StringRecord,
    places: &[usize; 7],
    line: u64,
    previous_s: Option<f64>,
) -> Result<Sample, MotionCsvError> {
    let mut values = [0.0_f64; 7];
    for ((value, place), column) in values.iter_mut().zip(places).zip(COLUMNS) {
        let text = record.get(*place).unwrap_or_default();
        *value = text.parse().map_err(|_not_a_number| MotionCsvError::NotANumber {
            line,
            column,
            text: text.to_owned(),
        })?;
    }
    let [time_s, ax, ay, az, gx, gy, gz] = values;
    if !time_s.is_finite() {
        return Err(MotionCsvError::TimeNotFinite { line });
    }
    if let Some(previous_s) = previous_s
        && time_s <= previous_s
    {
        return Err(MotionCsvError::TimeNotIncreasing { line, time_s, previous_s });
    }
    Ok(Sample {
        time_s,
        accel_m_s2: [ax, ay, az],
        gyro_rad_s: [gx, gy, gz],
        flags: Flags::default(),
    })
}

/// Writes samples as Motion CSV: times to the microsecond, accelerations to 1 µm/s², rates to
/// 1 µrad/s, which is finer than any sensor's last bit.
///
/// # Errors
/// Whatever the writer reports.
pub fn write(mut output: impl Write, samples: impl IntoIterator<Item = Sample>) -> io::Result<()> {
    writeln!(output, "{}", COLUMNS.join(","))?;
    for Sample { time_s, accel_m_s2: [ax, ay, az], gyro_rad_s: [gx, gy, gz], .. } in samples {
        writeln!(output, "{time_s:.6},{ax:.6},{ay:.6},{az:.6},{gx:.6},{gy:.6},{gz:.6}")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "time_s,acc_x,acc_y,acc_z,gyr_x,gyr_y,gyr_z\n";

    fn error(text: &str) -> String {
        read(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn reads_columns_in_any_order_and_ignores_others() {
        let text = "gyr_x,time_s,note,acc_x,acc_y,acc_z,gyr_y,gyr_z\n1,0.5,hi,2,3,4,5,6\n";
        let samples = read(text.as_bytes()).unwrap();
        assert_eq!(samples.len(), 1);
        assert_eq!(samples[0].time_s, 0.5);
        assert_eq!(samples[0].accel_m_s2, [2.0, 3.0, 4.0]);
        assert_eq!(samples[0].gyro_rad_s, [1.0, 5.0, 6.0]);
    }

    #[test]
    fn keeps_axis_values_that_are_not_finite() {
        let samples = read(format!("{HEADER}0,NaN,0,inf,0,0,0\n").as_bytes()).unwrap();
        assert!(!samples[0].is_finite());
    }

    #[test]
    fn names_line_and_column_of_what_is_wrong() {
        assert!(error("").contains("empty"));
        assert!(error("time_s,acc_x\n").contains("lacks the column 'acc_y'"));
        assert!(error(HEADER).contains("no samples"));
        assert!(
            error(&format!("{HEADER}0,1,2,3,4,5,6\n0.1,1,2\n")).starts_with("line 3: 3 fields")
        );
        assert!(
            error(&format!("{HEADER}0,1,x,3,4,5,6\n")).starts_with("line 2, column acc_y: 'x'")
        );
        assert!(error(&format!("{HEADER}nan,1,2,3,4,5,6\n")).contains("not finite"));
        assert!(
            error(&format!("{HEADER}0.2,1,2,3,4,5,6\n0.2,1,2,3,4,5,6\n"))
                .starts_with("line 3: time 0.2 s")
        );
    }

    #[test]
    fn what_is_written_reads_back() {
        let samples = [Sample { time_s: 0.01, accel_m_s2: [0.0, -9.81, 0.5], ..Sample::default() }];
        let mut text = Vec::new();
        write(&mut text, samples).unwrap();
        assert_eq!(read(text.as_slice()).unwrap(), samples);
    }
}
