//! What each test is, how it is done, and what was published for its position.
//!
//! Published values are context, never a limit: sources disagree, and positions are not compared
//! with one another.

use endarc_protocol::words::TestKind;

/// One test, in words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestSheet {
    /// The test.
    pub test: TestKind,
    /// How the person lies or sits, and where the sensors go.
    pub position: &'static str,
    /// How it is done, step by step.
    pub steps: &'static [&'static str],
    /// Which way counts as positive, for both sides.
    pub signs: &'static str,
    /// What shows the angle, and what no sensor takes out.
    pub measured_by: &'static str,
    /// When to be careful, besides [`GENERAL_CAUTIONS`].
    pub cautions: &'static [&'static str],
    /// Published mean values of this position, as far as they were read in their source.
    pub published: &'static [Published],
}

/// Published mean values of one group of people, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Published {
    /// Author, journal, year.
    pub source: &'static str,
    /// Who was measured, and how.
    pub people: &'static str,
    /// Internal rotation.
    pub internal_deg: Option<f64>,
    /// External rotation.
    pub external_deg: Option<f64>,
    /// Internal and external together.
    pub total_deg: Option<f64>,
    /// Standard deviation of the total between people.
    pub total_sd_deg: Option<f64>,
}

/// What holds for every test.
pub const GENERAL_CAUTIONS: &[&str] = &[
    "Local rules and licensed practice come first. This measures; it does not diagnose.",
    "Ask for consent before touching, say what will be done, and stop at pain or when the person says so.",
    "Do not measure or mobilise a hip with a suspected fracture, dislocation, infection or slipped \
     epiphysis, or against a surgeon's restriction: refer.",
    "The shank as a lever loads the knee: with a painful, unstable or replaced knee support the \
     thigh, or leave it.",
];

/// The sheet of a test.
#[must_use]
pub const fn test_sheet(test: TestKind) -> &'static TestSheet {
    match test {
        TestKind::ProneHipRotation => &PRONE,
        TestKind::ProneBothHipsRotation => &BOTH_HIPS,
        TestKind::SeatedHipRotation => &SEATED,
        TestKind::SupineHangingHipRotation => &HANGING,
        TestKind::Supine9090HipRotation => &SUPINE_90_90,
        TestKind::ProneKneeBend => &KNEE_BEND,
    }
}

const GRAVITY: &str = "Gravity shows the angle: it does not drift, and zero is the shank in the thigh's \
     vertical plane. The knee's sideways give and, without a pelvis sensor, the pelvis' roll go into it \
     degree for degree; so does a table that is not level.";
const PRONE_SIGNS: &str = "Internal is positive and carries the foot outward, external carries it inward, \
     for the left leg as for the right.";

const PRONE: TestSheet = TestSheet {
    test: TestKind::ProneHipRotation,
    position: "Prone, thighs flat on the table, the knee bent to about 90°; sensor on the inner shin, \
     and if worn one on the pelvis.",
    steps: &[
        "Lift the foot from the flat leg to vertical a few times: that aligns the sensor.",
        "Hold the shank vertical and still for three seconds.",
        "With one hand on the pelvis turn the hip by the shank until the chosen end criterion, and stay \
         there for a second.",
        "Back to vertical, again, then the other direction; lay the leg down when done.",
    ],
    signs: PRONE_SIGNS,
    measured_by: GRAVITY,
    cautions: &[
        "Prone lying may not be possible: late pregnancy, after abdominal surgery, short of breath.",
    ],
    published: &[
        Published {
            source: "Kouyoumdjian et al., Orthop Traumatol Surg Res 98:17, 2012",
            people: "120 healthy adults, 20 to 60 years, from photographs",
            internal_deg: Some(35.2),
            external_deg: Some(41.8),
            total_deg: Some(77.1),
            total_sd_deg: None,
        },
        Published {
            source: "Passive hip rotation: testing position and age in runners and non-runners, 2003",
            people: "34 adults, goniometer, passive",
            internal_deg: None,
            external_deg: None,
            total_deg: Some(94.8),
            total_sd_deg: Some(13.3),
        },
    ],
};

const BOTH_HIPS: TestSheet = TestSheet {
    test: TestKind::ProneBothHipsRotation,
    position: "Prone, both knees bent to about 90°, a sensor on each shin.",
    steps: &[
        "Align both sensors: lift both feet from the flat legs to vertical a few times.",
        "Hold both shanks vertical and still for three seconds.",
        "Let both feet fall outward by their own weight, together, and wait until they are still.",
        "Bring them back to vertical; again.",
    ],
    signs: "Internal only, positive: both feet go outward. Their weights balance the pelvis.",
    measured_by: GRAVITY,
    cautions: &[],
    published: &[],
};

const SEATED: TestSheet = TestSheet {
    test: TestKind::SeatedHipRotation,
    position: "Seated on the table's edge, thighs flat, shanks hanging free; sensor on the inner shin.",
    steps: &[
        "Straighten the knee and let it hang again a few times.",
        "Let the shank hang still for three seconds.",
        "Hold the thigh down, move the foot outward or inward until the chosen end criterion, and stay \
         there for a second.",
    ],
    signs: PRONE_SIGNS,
    measured_by: GRAVITY,
    cautions: &["Leaning to the side lifts the pelvis and reads as rotation: hands on the table."],
    published: &[
        Published {
            source: "Kouyoumdjian et al., Orthop Traumatol Surg Res 98:17, 2012",
            people: "120 healthy adults, 20 to 60 years, from photographs (external: total minus internal)",
            internal_deg: Some(37.9),
            external_deg: Some(40.6),
            total_deg: Some(78.5),
            total_sd_deg: None,
        },
        Published {
            source: "Passive hip rotation: testing position and age in runners and non-runners, 2003",
            people: "34 adults, goniometer, passive",
            internal_deg: None,
            external_deg: None,
            total_deg: Some(81.7),
            total_sd_deg: Some(11.6),
        },
    ],
};

const HANGING: TestSheet = TestSheet {
    test: TestKind::SupineHangingHipRotation,
    position: "Supine, the thigh flat, the shank hanging over the table's edge: the first choice for one \
     who cannot lie prone.",
    steps: &[
        "Straighten the knee and let it hang again a few times.",
        "Let the shank hang still for three seconds.",
        "Hold the thigh, move the foot outward or inward until the chosen end criterion, and stay there \
         for a second.",
    ],
    signs: PRONE_SIGNS,
    measured_by: GRAVITY,
    cautions: &["A hollow back: bend the other knee, foot on the table."],
    published: &[Published {
        source: "Kouyoumdjian et al., Orthop Traumatol Surg Res 98:17, 2012",
        people: "120 healthy adults, 20 to 60 years, supine with the hip straight, from photographs",
        internal_deg: Some(29.6),
        external_deg: Some(38.5),
        total_deg: Some(68.1),
        total_sd_deg: None,
    }],
};

const SUPINE_90_90: TestSheet = TestSheet {
    test: TestKind::Supine9090HipRotation,
    position: "Supine, hip and knee bent to 90°, the shank held level. Last choice: gravity does not \
     show this angle.",
    steps: &[
        "Straighten the knee towards the ceiling and bend it again a few times.",
        "Hold the shank level, in line with the body, still for three seconds.",
        "Turn the hip until the chosen end criterion, and stay there for a second.",
        "Come back to the line of the body and rest there for a second before the next one: that sets \
         the zero again.",
    ],
    signs: "Internal is positive and carries the foot outward, for the left leg as for the right.",
    measured_by: "The gyroscope alone shows the angle, from rest to rest; the uncertainty grows between \
     rests and depends on how well the line of the body is found again.",
    cautions: &[
        "Hip flexed and turned inward loads the front of the joint and a replaced hip: see the general cautions.",
    ],
    published: &[],
};

const KNEE_BEND: TestSheet = TestSheet {
    test: TestKind::ProneKneeBend,
    position: "Prone, legs flat; sensor on the shin and one on the pelvis.",
    steps: &[
        "Lift the foot to vertical and lay it down a few times.",
        "Hold the shank vertical and still for three seconds.",
        "From the flat leg bend the knee evenly, and go on a little after the pelvis begins to rise.",
        "Lay the leg down; again.",
    ],
    signs: "Flexion is positive, 0° is the straight leg.",
    measured_by: "The value is the knee flexion at which the pelvis begins to tilt; a pelvis that does not \
     tilt leaves the largest flexion, and the repetition says so. Flexion counts from a shank held \
     vertical by eye, so it is good to some 2°; before and after, that cancels.",
    cautions: &[
        "A painful front of the knee or thigh, or a recent knee operation: do not force it.",
    ],
    published: &[],
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_test_has_its_own_sheet() {
        for &test in TestKind::ALL {
            let sheet = test_sheet(test);
            assert_eq!(sheet.test, test);
            assert!(sheet.steps.len() >= 3);
        }
    }

    /// Against the table of published values in the reference folder.
    #[test]
    fn published_values_are_those_of_their_source() {
        let Some(folder) = std::env::var_os("ENDARC_REFERENCE_DIR") else {
            let strict = std::env::var_os("ENDARC_STRICT").is_some_and(|strict| strict == "1");
            assert!(!strict, "ENDARC_REFERENCE_DIR is not set");
            println!("skipped: ENDARC_REFERENCE_DIR is not set");
            return;
        };
        let file = std::path::Path::new(&folder).join("reference/data/hip_rotation_norms.csv");
        let table = std::fs::read_to_string(file).unwrap();
        let place = |test| match test {
            TestKind::ProneHipRotation => "prone_hip0_knee90",
            TestKind::SeatedHipRotation => "seated_hip90",
            _ => "supine_hip0",
        };
        let mut checked = 0;
        for &test in TestKind::ALL {
            for one in test_sheet(test).published {
                let source = one.source.split([',', '0']).next().unwrap();
                let values =
                    [("IR", one.internal_deg), ("ER", one.external_deg), ("TOTAL", one.total_deg)];
                for (motion, value) in values {
                    let Some(value) = value else { continue };
                    let found = table.lines().any(|line| {
                        line.contains(&format!(",{},{motion},", place(test)))
                            && line.starts_with(source)
                            && line.split(',').any(|cell| cell.parse() == Ok(value))
                    });
                    assert!(found, "{test} {source} {motion} {value}");
                    checked += 1;
                }
            }
        }
        assert_eq!(checked, 11);
    }
}
