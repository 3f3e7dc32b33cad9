//! What desk and report say, one file per language: `words/en.json` and its like.
//!
//! A file maps a key to a text; `{name}` in a text is a place that is filled in. All files have the
//! same keys with the same places, which a test holds.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

/// A language the program speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English.
    #[default]
    En,
    /// German.
    De,
}

impl Language {
    /// Every one.
    pub const ALL: [Self; 2] = [Self::En, Self::De];

    /// Its tag (BCP 47).
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
        }
    }

    /// The file of its words, as it is served to the page.
    #[must_use]
    pub const fn file(self) -> &'static str {
        match self {
            Self::En => include_str!("words/en.json"),
            Self::De => include_str!("words/de.json"),
        }
    }
}

/// The words of one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    language: Language,
    texts: BTreeMap<String, String>,
}

static ENGLISH: LazyLock<Words> = LazyLock::new(|| Words::read(Language::En));
static GERMAN: LazyLock<Words> = LazyLock::new(|| Words::read(Language::De));

impl Words {
    /// Those of a language.
    #[must_use]
    pub fn of(language: Language) -> &'static Self {
        match language {
            Language::En => &ENGLISH,
            Language::De => &GERMAN,
        }
    }

    fn read(language: Language) -> Self {
        // The files are built in and read by a test; a key that is missing shows as itself.
        let texts = serde_json::from_str(language.file()).unwrap_or_default();
        Self { language, texts }
    }

    /// The language.
    #[must_use]
    pub const fn language(&self) -> Language {
        self.language
    }

    /// A text without places; the key itself where there is none.
    #[must_use]
    pub fn get<'a>(&'a self, key: &'a str) -> &'a str {
        self.texts.get(key).map_or(key, String::as_str)
    }

    /// The text for a word of a closed list, under the key `KIND.WORD`; nothing where there is none.
    #[must_use]
    pub fn word(&self, kind: &str, word: impl std::fmt::Display) -> &str {
        self.known(&format!("{kind}.{word}")).unwrap_or_default()
    }

    /// A text that not every language has, e.g. the translation of a source.
    #[must_use]
    pub fn known(&self, key: &str) -> Option<&str> {
        self.texts.get(key).map(String::as_str)
    }

    /// A text with its places filled in.
    #[must_use]
    pub fn fill(&self, key: &str, places: &[(&str, &str)]) -> String {
        let text = self.get(key).to_owned();
        places.iter().fold(text, |text, (name, value)| text.replace(&format!("{{{name}}}"), value))
    }

    /// A number with so many decimals.
    #[must_use]
    pub fn number(&self, value: f64, decimals: usize) -> String {
        let text = format!("{value:.decimals$}");
        // What rounds to nothing has no sign.
        let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        let text = if zero { text.trim_start_matches('-').to_owned() } else { text };
        text.replace('-', "−").replace('.', self.get("number.point"))
    }

    /// An angle to a tenth of a degree, e.g. `32.1°`.
    #[must_use]
    pub fn angle(&self, value_deg: f64) -> String {
        format!("{}°", self.number(value_deg, 1))
    }

    /// A change with its sign, e.g. `+4.3°`.
    #[must_use]
    pub fn change(&self, value_deg: f64) -> String {
        let plus = if value_deg >= 0.05 { "+" } else { "" };
        format!("{plus}{}", self.angle(value_deg))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The places of a text, in the order of their names.
    fn places(text: &str) -> Vec<&str> {
        let mut places: Vec<&str> =
            text.split('{').skip(1).filter_map(|rest| rest.split('}').next()).collect();
        places.sort_unstable();
        places
    }

    #[test]
    fn all_languages_have_the_same_keys_and_places() {
        let english: BTreeMap<String, String> = serde_json::from_str(Language::En.file()).unwrap();
        assert!(english.len() > 100, "only {} texts", english.len());
        for language in Language::ALL {
            let other: BTreeMap<String, String> = serde_json::from_str(language.file()).unwrap();
            let keys = |all: &BTreeMap<String, String>| all.keys().cloned().collect::<Vec<_>>();
            assert_eq!(keys(&english), keys(&other), "{language:?}");
            for (key, text) in &english {
                assert_eq!(places(text), places(&other[key]), "{key} in {language:?}");
                assert!(!other[key].trim().is_empty(), "{key} in {language:?} is empty");
            }
        }
    }

    #[test]
    fn numbers_have_the_point_of_their_language() {
        assert_eq!(Words::of(Language::En).angle(-3.25), "−3.2°");
        assert_eq!(Words::of(Language::De).change(4.3), "+4,3°");
        assert_eq!(Words::of(Language::En).change(-0.04), "0.0°");
    }

    #[test]
    fn places_are_filled_and_a_lost_key_shows() {
        let words = Words::of(Language::En);
        let text =
            words.fill("report.cycles", &[("count", "4"), ("contraction", "40"), ("hold", "30")]);
        assert!(text.contains('4') && !text.contains('{'), "{text}");
        assert_eq!(words.get("no.such.key"), "no.such.key");
    }
}
