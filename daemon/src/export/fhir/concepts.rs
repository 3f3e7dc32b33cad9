//! The codes of our own, and those of other systems that a clinic adds from its own copies.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::export::readme;

/// Where codes and identifiers are from, unless the clinic names an address of its own. Nobody can
/// own a name below `.invalid` (RFC 2606), so they never are somebody else's.
const BASE: &str = "https://endarc.invalid/fhir";

/// Our codes with their texts.
const CONCEPTS: [(&str, &str); 33] = [
    ("hip-internal-rotation-passive", "Hip internal rotation, passive, end range"),
    ("hip-external-rotation-passive", "Hip external rotation, passive, end range"),
    ("knee-flexion-passive", "Knee flexion, passive, at which the pelvis begins to tilt"),
    ("inertial-sensor-shank", "Inertial sensor worn on the shank"),
    ("passive-rotation-assessment", "Assessment of passive hip rotation"),
    ("assessment", "Assessment"),
    ("manual-treatment", "Manual treatment"),
    ("left-hip", "Left hip joint"),
    ("right-hip", "Right hip joint"),
    ("left-knee", "Left knee joint"),
    ("right-knee", "Right knee joint"),
    ("prone-hip-rotation", "Prone, knee bent to 90 degrees"),
    ("prone-both-hips-rotation", "Prone, both knees bent, feet left to fall outward"),
    ("seated-hip-rotation", "Seated, shank hanging"),
    ("supine-hanging-hip-rotation", "Supine, hip straight, shank hanging over the table's edge"),
    ("supine-90-90-hip-rotation", "Supine, hip and knee at 90 degrees"),
    ("prone-knee-bend", "Prone, knee being bent"),
    ("repetition", "Repetition number"),
    ("phase", "Phase of the visit"),
    ("baseline", "Before treatment"),
    ("treatment", "During treatment"),
    ("retest", "After treatment"),
    ("uncertainty", "One standard uncertainty of the instrument"),
    ("hold", "Time spent at the end range"),
    ("knee-flexion", "Knee flexion at the end range"),
    ("pelvis-roll", "Pelvis roll at the end range, taken out of it"),
    ("algorithm-version", "Version of the algorithm that computed it"),
    ("mean", "Mean of repetitions"),
    ("sd", "Sample standard deviation"),
    ("n", "Number of repetitions"),
    ("consent", "Consent"),
    ("consent-contact", "Consent to being touched and treated"),
    ("consent-keeping", "Consent to data being kept"),
];

/// Why a file of codes cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum CodeMapError {
    /// It is not such a file.
    #[error("not a file of codes: {0}")]
    Toml(#[from] toml::de::Error),
    /// It names a code that is none of ours.
    #[error("'{got}' is none of our codes: one of {}", CONCEPTS.map(|(code, _)| code).join(", "))]
    Unknown {
        /// What stands there.
        got: String,
    },
}

/// A code of another system that stands for one of ours.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Other {
    /// Which of ours.
    concept: String,
    /// The other system's address.
    system: String,
    /// The code in it.
    code: String,
    /// How it is displayed there.
    display: Option<String>,
}

/// Codes of other systems, and the address below which ours are. Empty: ours alone.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodeMap {
    base: Option<String>,
    #[serde(default, rename = "code")]
    others: Vec<Other>,
}

impl CodeMap {
    /// Reads a clinic's file: `base = "…"` and any number of `[[code]]` with `concept`, `system`,
    /// `code` and perhaps `display`.
    ///
    /// # Errors
    /// [`CodeMapError`].
    pub fn parse(text: &str) -> Result<Self, CodeMapError> {
        let map: Self = toml::from_str(text)?;
        let known = |other: &&Other| CONCEPTS.iter().any(|(code, _)| *code == other.concept);
        match map.others.iter().find(|other| !known(other)) {
            Some(other) => Err(CodeMapError::Unknown { got: other.concept.clone() }),
            None => Ok(map),
        }
    }

    /// An address below ours.
    pub(super) fn url(&self, path: &str) -> String {
        format!("{}/{path}", self.base.as_deref().unwrap_or(BASE).trim_end_matches('/'))
    }

    fn system_url(&self) -> String {
        self.url("CodeSystem/hip-rotation")
    }

    /// One of our codes, with those of other systems behind it.
    pub(super) fn concept(&self, code: &str) -> Value {
        let display = CONCEPTS.iter().find(|(own, _)| *own == code).map_or(code, |(_, text)| text);
        let mut coding =
            vec![json!({ "system": self.system_url(), "code": code, "display": display })];
        for other in self.others.iter().filter(|other| other.concept == code) {
            let mut other_coding = json!({ "system": other.system, "code": other.code });
            if let Some(display) = &other.display {
                other_coding["display"] = json!(display);
            }
            coding.push(other_coding);
        }
        json!({ "coding": coding, "text": display })
    }

    /// The code system of ours.
    pub(super) fn system(&self) -> Value {
        let concept = |(code, display)| json!({ "code": code, "display": display });
        json!({
            "resourceType": "CodeSystem",
            "id": "hip-rotation",
            "url": self.system_url(),
            "version": env!("CARGO_PKG_VERSION"),
            "name": "HipRotation",
            "title": "Codes for passive hip rotation",
            "status": "draft",
            "experimental": true,
            "description": readme::CAUTION,
            "content": "complete",
            "caseSensitive": true,
            "concept": CONCEPTS.map(concept).to_vec(),
        })
    }
}

/// What was measured.
pub(super) const fn measured(direction: Direction) -> &'static str {
    match direction {
        Direction::Internal => "hip-internal-rotation-passive",
        Direction::External => "hip-external-rotation-passive",
        Direction::Flexion => "knee-flexion-passive",
    }
}

/// Where.
pub(super) const fn body_site(side: Side, test: TestKind) -> &'static str {
    match (side, test) {
        (Side::Left, TestKind::ProneKneeBend) => "left-knee",
        (Side::Right, TestKind::ProneKneeBend) => "right-knee",
        (Side::Left, _) => "left-hip",
        (Side::Right, _) => "right-hip",
    }
}

/// When.
pub(super) const fn phase(phase: Phase) -> &'static str {
    phase.as_str()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ours_comes_first_and_others_only_from_the_clinic() {
        let text = "base = 'https://clinic.example/fhir/'\n[[code]]\nconcept = 'left-hip'\n\
                    system = 'https://other.example'\ncode = 'X1'\n";
        let codes = CodeMap::parse(text).unwrap();
        let left = codes.concept("left-hip");
        assert_eq!(
            left["coding"][0]["system"],
            "https://clinic.example/fhir/CodeSystem/hip-rotation"
        );
        assert_eq!(left["coding"][1], json!({ "system": "https://other.example", "code": "X1" }));
        assert_eq!(codes.concept("right-hip")["coding"].as_array().unwrap().len(), 1);
    }

    #[test]
    fn a_code_that_is_none_of_ours_is_refused() {
        let text = "[[code]]\nconcept = 'hip'\nsystem = 's'\ncode = 'c'\n";
        let error = CodeMap::parse(text).unwrap_err().to_string();
        assert!(error.contains("'hip' is none of our codes: one of hip-internal"), "{error}");
        assert!(CodeMap::parse("colour = 1").is_err());
    }

    #[test]
    fn every_word_has_a_code() {
        let known = |code: &str| CONCEPTS.iter().any(|(own, _)| *own == code);
        assert!(TestKind::ALL.iter().all(|test| known(test.as_str())));
        assert!(Phase::ALL.iter().all(|one| known(phase(*one))));
        for test in TestKind::ALL {
            assert!(Side::ALL.iter().all(|side| known(body_site(*side, *test))));
        }
        assert!(Direction::ALL.iter().all(|direction| known(measured(*direction))));
    }
}
