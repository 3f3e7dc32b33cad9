//! Whether the wall clock can be used as a label.

use jiff::ZonedDateTime;

use super::Finding;

const WHAT: &str = "clock";

/// This program did not exist before this year, so no clock that is set can show an earlier one.
const FIRST_YEAR: i16 = 2026;

/// A box without a clock battery wakes up years ago; a container often knows no zone.
pub(super) fn check(now: &ZonedDateTime) -> Finding {
    let shown = now.strftime("%Y-%m-%d %H:%M");
    if now.year() < FIRST_YEAR {
        Finding::note(
            WHAT,
            format!(
                "not set, it shows {shown}: set it before the first visit (durations are safe)"
            ),
        )
    } else if now.time_zone().is_unknown() {
        Finding::note(
            WHAT,
            format!("{shown} UTC, local time zone not known: set it in the system's settings"),
        )
    } else {
        let zone = now.time_zone().iana_name().unwrap_or("local time");
        Finding::ok(WHAT, format!("{shown} {zone}"))
    }
}

#[cfg(test)]
mod tests {
    use super::super::State;
    use super::*;

    #[test]
    fn a_clock_that_was_never_set_or_has_no_zone_is_noted() {
        let check = |text: &str| check(&text.parse().unwrap());
        assert!(check("2016-01-01T00:03Z[Etc/UTC]").text.contains("not set"));
        assert!(check("2026-11-25T10:00Z[Etc/Unknown]").text.contains("zone not known"));
        let well = check("2026-11-25T10:00+01:00[Europe/Berlin]");
        assert_eq!(well.state, State::Ok);
        assert_eq!(well.text, "2026-11-25 10:00 Europe/Berlin");
    }
}
