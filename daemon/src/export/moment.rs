//! Times as every format of ours writes them.

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

/// RFC 3339 to the second with the offset in figures, which every reader of tables takes.
pub(super) fn text(utc: Timestamp, offset: Offset) -> String {
    utc.to_zoned_datetime(TimeZone::fixed(offset)).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// The same in UTC.
pub(super) fn utc(utc: Timestamp) -> String {
    text(utc, Offset::UTC)
}
