//! Events CSV: what happened when, as text.
//!
//! Header `onset,duration,trial_type` and optionally `side`, in any order, other columns ignored;
//! seconds; an empty side means both legs.

use std::io::{self, Read, Write};

use crate::words::{Side, TrialType, UnknownWord};

/// One span of a recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// Start, s on the recording's clock.
    pub onset_s: f64,
    /// Length, s; never negative.
    pub duration_s: f64,
    /// What the span is.
    pub trial_type: TrialType,
    /// The leg it concerns; `None` for both.
    pub side: Option<Side>,
}

impl Event {
    /// The end, s on the recording's clock.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.onset_s + self.duration_s
    }

    /// Whether the span concerns this leg.
    #[must_use]
    pub fn concerns(&self, side: Side) -> bool {
        self.side.is_none_or(|own| own == side)
    }
}

/// Why an Events CSV was refused. Lines count from 1, the header being line 1.
#[derive(Debug, thiserror::Error)]
pub enum EventsCsvError {
    /// A column is missing from the header (or the file is empty).
    #[error(
        "line 1: the header lacks the column '{column}': expected onset,duration,trial_type[,side]"
    )]
    MissingColumn {
        /// The first column that is missing.
        column: &'static str,
    },
    /// A header and nothing below it.
    #[error("no events: there is no row below the header")]
    NoRows,
    /// The row's fields do not match the header.
    #[error("line {line}: {got} fields where the header has {expected}: was the file cut off?")]
    FieldCount {
        /// The line.
        line: u64,
        /// Fields found.
        got: usize,
        /// Fields in the header.
        expected: usize,
    },
    /// An onset or duration that is not a finite number, or a negative duration.
    #[error("line {line}, column {column}: '{text}' is not a time in seconds")]
    NotATime {
        /// The line.
        line: u64,
        /// The column's name.
        column: &'static str,
        /// What stands there.
        text: String,
    },
    /// A word that is not known in its place.
    #[error("line {line}: {source}")]
    Word {
        /// The line.
        line: u64,
        /// Which word, and what is allowed.
        source: UnknownWord,
    },
    /// The text is not CSV, not UTF-8, or could not be read.
    #[error("not readable as CSV: {0}")]
    Csv(#[from] csv::Error),
}

/// Reads a whole Events CSV, sorted by onset.
///
/// # Errors
/// Any [`EventsCsvError`]; nothing is returned of a file that has one.
pub fn read(input: impl Read) -> Result<Vec<Event>, EventsCsvError> {
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(input);
    let header = reader.headers()?.clone();
    let find = |column: &'static str| {
        header.iter().position(|name| name.trim_start_matches('\u{feff}') == column)
    };
    let require = |column| find(column).ok_or(EventsCsvError::MissingColumn { column });
    let (onset, duration) = (require("onset")?, require("duration")?);
    let (trial_type, side) = (require("trial_type")?, find("side"));

    let mut events = Vec::new();
    for record in reader.records() {
        let record = record?;
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() != header.len() {
            return Err(EventsCsvError::FieldCount {
                line,
                got: record.len(),
                expected: header.len(),
            });
        }
        let field = |place: usize| record.get(place).unwrap_or_default();
        let word = |source| EventsCsvError::Word { line, source };
        let side = side.map(field).filter(|text| !text.is_empty());
        events.push(Event {
            onset_s: seconds(field(onset), line, "onset", f64::MIN)?,
            duration_s: seconds(field(duration), line, "duration", 0.0)?,
            trial_type: field(trial_type).parse().map_err(word)?,
            side: side.map(str::parse).transpose().map_err(word)?,
        });
    }
    if events.is_empty() {
        return Err(EventsCsvError::NoRows);
    }
    events.sort_by(|a, b| a.onset_s.total_cmp(&b.onset_s));
    Ok(events)
}

fn seconds(text: &str, line: u64, column: &'static str, least: f64) -> Result<f64, EventsCsvError> {
    text.parse::<f64>()
        .ok()
        .filter(|value| value.is_finite() && *value >= least)
        .ok_or_else(|| EventsCsvError::NotATime { line, column, text: text.to_owned() })
}

/// Writes events as Events CSV, times to the millisecond.
///
/// # Errors
/// Whatever the writer reports.
pub fn write(mut output: impl Write, events: &[Event]) -> io::Result<()> {
    writeln!(output, "onset,duration,trial_type,side")?;
    for event in events {
        writeln!(
            output,
            "{:.3},{:.3},{},{}",
            event.onset_s,
            event.duration_s,
            event.trial_type,
            event.side.map_or("", Side::as_str)
        )?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_with_and_without_side_and_sorts() {
        let events = read(
            "onset,duration,trial_type,side\n4,2,align-knee,left\n0.5,3,neutral,\n".as_bytes(),
        )
        .unwrap();
        assert_eq!(events[0].trial_type, TrialType::Neutral);
        assert!(events[0].concerns(Side::Right));
        assert_eq!(events[1].side, Some(Side::Left));
        assert_eq!(events[1].end_s(), 6.0);
        assert_eq!(read("onset,duration,trial_type\n0,1,retest\n".as_bytes()).unwrap().len(), 1);
    }

    #[test]
    fn names_line_and_remedy_of_what_is_wrong() {
        let error = |text: &str| read(text.as_bytes()).unwrap_err().to_string();
        assert!(error("").contains("lacks the column 'onset'"));
        assert!(error("onset,duration,trial_type\n").contains("no events"));
        assert!(
            error("onset,duration,trial_type\n0,-1,neutral\n")
                .starts_with("line 2, column duration")
        );
        assert!(error("onset,duration,trial_type\n0,1,rest\n").contains("expected one of neutral"));
        assert!(error("onset,duration,trial_type\n0,1\n").contains("cut off"));
    }

    #[test]
    fn what_is_written_reads_back() {
        let events = [Event {
            onset_s: 1.5,
            duration_s: 2.0,
            trial_type: TrialType::Retest,
            side: Some(Side::Left),
        }];
        let mut text = Vec::new();
        write(&mut text, &events).unwrap();
        assert_eq!(read(text.as_slice()).unwrap(), events);
    }
}
