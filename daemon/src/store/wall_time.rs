//! A wall-clock time as it is kept: UTC, with the local offset and zone beside it.

use jiff::tz::{self, Offset};
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

/// A wall-clock time: a label, never the base of a duration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WallTime {
    /// The moment.
    pub utc: Timestamp,
    /// The local offset from UTC then, s, east positive.
    pub offset_s: i32,
    /// The zone's IANA name, if the system knew one.
    pub zone: Option<String>,
}

impl From<&ZonedDateTime> for WallTime {
    fn from(time: &ZonedDateTime) -> Self {
        Self {
            utc: time.timestamp(),
            offset_s: time.offset().seconds(),
            zone: time.time_zone().iana_name().map(str::to_owned),
        }
    }
}

impl WallTime {
    /// The time as RFC 3339 with the local offset.
    #[must_use]
    pub fn rfc3339(&self) -> String {
        let offset = Offset::from_seconds(self.offset_s).unwrap_or(Offset::UTC);
        self.utc.display_with_offset(offset).to_string()
    }

    /// This time and `seconds` of a monotonic clock later, in the same zone: where summer time
    /// ends in between the offset follows, and the moment is right whatever the wall clock did.
    #[must_use]
    pub fn later(&self, seconds: f64) -> Self {
        let duration = SignedDuration::try_from_secs_f64(seconds).unwrap_or(SignedDuration::ZERO);
        let utc = self.utc.checked_add(duration).unwrap_or(self.utc);
        let zone = self.zone.as_deref().and_then(|name| tz::TimeZone::get(name).ok());
        let offset_s =
            zone.map_or(self.offset_s, |zone| utc.to_zoned_datetime(zone).offset().seconds());
        Self { utc, offset_s, zone: self.zone.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_visit_across_the_end_of_summer_time_lasts_as_long_as_it_did() {
        // Germany put its clocks back on 2026-10-25 at 03:00 summer time (EU directive 2000/84/EC:
        // last Sunday of October, 01:00 UTC).
        let start: ZonedDateTime = "2026-10-25T02:50:00+02:00[Europe/Berlin]".parse().unwrap();
        let start = WallTime::from(&start);
        assert_eq!(start.rfc3339(), "2026-10-25T02:50:00+02:00");
        let end = start.later(20.0 * 60.0);
        assert_eq!(end.rfc3339(), "2026-10-25T02:10:00+01:00");
        assert_eq!(end.utc.duration_since(start.utc), SignedDuration::from_mins(20));
    }
}
