//! Under which codes and dates visits leave.
//!
//! Codes are drawn anew for every export, from a seed that is forgotten with it: two exports cannot
//! be joined by them, and nobody can compute them from the codes inside.

use jiff::tz::Offset;
use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};

use super::ExportError;
use super::moment;
use crate::store::WallTime;

/// Under which codes persons and raters leave.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Codes {
    /// Drawn for this export.
    #[default]
    Drawn,
    /// As they are kept.
    Kept,
}

/// Under which dates visits leave.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Dates {
    /// As they were.
    #[default]
    True,
    /// Put back by a number of whole days, one for each person.
    Shifted,
}

/// Whether what people typed leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Texts {
    /// It stays: it may name somebody.
    #[default]
    LeftOut,
    /// It leaves.
    Included,
}

/// How much of whom a visit is of leaves with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Privacy {
    /// Codes.
    pub codes: Codes,
    /// Dates.
    pub dates: Dates,
    /// What people typed.
    pub texts: Texts,
}

/// The most days a person's dates are put back by: a year, so that seasons are lost too.
const SHIFT_MAX_DAYS: u64 = 365;

/// Without letters and digits that are mistaken for one another (Crockford's base 32).
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// How many of them a code has: 40 bits, so that among a thousand persons two alike come once in
/// two million exports.
const CODE_CHARS: usize = 8;

/// The codes and dates of one export.
#[derive(Debug, Clone)]
pub struct Disguise {
    seed: String,
    privacy: Privacy,
}

impl Disguise {
    /// A seed nobody knows, as 64 hexadecimal digits.
    ///
    /// # Errors
    /// [`ExportError::Random`].
    pub fn draw_seed() -> Result<String, ExportError> {
        let mut bytes = [0; 32];
        getrandom::fill(&mut bytes).map_err(|error| ExportError::Random(error.to_string()))?;
        Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// That of a seed: the same seed gives the same codes.
    #[must_use]
    pub fn new(seed: &str, privacy: Privacy) -> Self {
        Self { seed: seed.to_owned(), privacy }
    }

    /// The code under which a person leaves.
    #[must_use]
    pub fn person(&self, code: &str) -> String {
        self.code("P", code)
    }

    /// The code under which a rater leaves.
    #[must_use]
    pub fn rater(&self, code: &str) -> String {
        self.code("R", code)
    }

    /// The code under which a sensor leaves: never its address or serial number.
    #[must_use]
    pub fn sensor(&self, address: &str) -> String {
        self.drawn("S", address)
    }

    /// A UUID for something of this name, drawn for this export (version 4, RFC 9562).
    #[must_use]
    pub fn uuid(&self, of: &str) -> String {
        let (high, low) = (self.number("uuid high", of), self.number("uuid low", of));
        let high = (high & !0xf000) | 0x4000;
        let low = (low & !(0b11 << 62)) | (0b10 << 62);
        format!(
            "{:08x}-{:04x}-{:04x}-{:04x}-{:012x}",
            high >> 32,
            (high >> 16) & 0xffff,
            high & 0xffff,
            low >> 48,
            low & 0xffff_ffff_ffff
        )
    }

    /// Whether what people typed leaves.
    #[must_use]
    pub fn with_texts(&self) -> bool {
        self.privacy.texts == Texts::Included
    }

    /// The time at which something of a person's happened, as it leaves: RFC 3339 with the local
    /// offset, to the second; the zone's name stays.
    #[must_use]
    pub fn time(&self, person: &str, time: &WallTime) -> String {
        let offset = Offset::from_seconds(time.offset_s).unwrap_or(Offset::UTC);
        moment::text(self.moment(person, time.utc), offset)
    }

    /// A moment in UTC, likewise.
    #[must_use]
    pub fn moment(&self, person: &str, utc: Timestamp) -> Timestamp {
        let days = match self.privacy.dates {
            Dates::True => return utc,
            Dates::Shifted => 1 + self.number("shift", person) % SHIFT_MAX_DAYS,
        };
        let back = SignedDuration::from_hours(24 * i64::try_from(days).unwrap_or_default());
        utc.checked_sub(back).unwrap_or(utc)
    }

    fn code(&self, prefix: &str, code: &str) -> String {
        match self.privacy.codes {
            Codes::Drawn => self.drawn(prefix, code),
            Codes::Kept => code.to_owned(),
        }
    }

    fn drawn(&self, prefix: &str, of: &str) -> String {
        let mut number = self.number(prefix, of);
        let mut code = prefix.to_owned();
        for _ in 0..CODE_CHARS {
            // Below 32, the length of the alphabet.
            let place = usize::try_from(number % 32).unwrap_or_default();
            code.extend(ALPHABET.get(place).copied().map(char::from));
            number /= 32;
        }
        code
    }

    /// A number drawn for this purpose and code; upper and lower case draw the same.
    fn number(&self, purpose: &str, of: &str) -> u64 {
        let text = format!("{} {purpose} {}", self.seed, of.to_ascii_lowercase());
        let hash = Sha256::digest(text.as_bytes());
        hash.iter().take(8).fold(0, |number, byte| (number << 8) | u64::from(*byte))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disguise(codes: Codes, dates: Dates) -> Disguise {
        Disguise::new("7", Privacy { codes, dates, ..Privacy::default() })
    }

    #[test]
    fn codes_are_drawn_from_the_seed_and_nothing_else() {
        let one = disguise(Codes::Drawn, Dates::True);
        let code = one.person("P-014");
        assert_eq!(code, one.person("p-014"));
        assert!(code.starts_with('P') && code.len() == 9 && !code.contains("014"), "{code}");
        assert_ne!(code, one.person("P-015"));
        assert_ne!(code, Disguise::new("8", Privacy::default()).person("P-014"));
        assert_eq!(disguise(Codes::Kept, Dates::True).person("P-014"), "P-014");
    }

    #[test]
    fn a_sensor_never_leaves_under_its_address() {
        let sensor = disguise(Codes::Kept, Dates::True).sensor("AA:BB:CC:DD:EE:FF");
        assert!(sensor.starts_with('S') && !sensor.contains("AA:BB"), "{sensor}");
    }

    #[test]
    fn dates_go_back_by_whole_days_alike_for_one_person() {
        let at = |text: &str| WallTime {
            utc: text.parse().unwrap(),
            offset_s: 7200,
            zone: Some("Europe/Berlin".to_owned()),
        };
        let (first, second) = (at("2026-06-01T08:00:00.25Z"), at("2026-06-08T09:30:00Z"));
        let truth = disguise(Codes::Drawn, Dates::True);
        assert_eq!(truth.time("P-1", &first), "2026-06-01T10:00:00+02:00");
        let shifted = disguise(Codes::Drawn, Dates::Shifted);
        let back = |person: &str, time: &WallTime| {
            time.utc.duration_since(shifted.moment(person, time.utc)).as_hours()
        };
        assert_eq!(back("P-1", &first) % 24, 0);
        assert!((24..=365 * 24).contains(&back("P-1", &first)));
        assert_eq!(back("P-1", &first), back("P-1", &second));
        let all: std::collections::BTreeSet<i64> =
            (0..20).map(|number| back(&format!("P-{number}"), &first)).collect();
        assert!(all.len() > 10, "{all:?}");
        assert!(shifted.time("P-1", &first).ends_with("T10:00:00+02:00"));
    }

    #[test]
    fn a_uuid_has_its_version_and_variant() {
        let uuid = disguise(Codes::Drawn, Dates::True).uuid("person");
        let groups: Vec<usize> = uuid.split('-').map(str::len).collect();
        assert_eq!(groups, [8, 4, 4, 4, 12]);
        assert_eq!(uuid.chars().nth(14), Some('4'));
        assert!(uuid.chars().nth(19).is_some_and(|c| "89ab".contains(c)), "{uuid}");
    }

    #[test]
    fn seeds_are_not_repeated() {
        assert_ne!(Disguise::draw_seed().unwrap(), Disguise::draw_seed().unwrap());
    }
}
