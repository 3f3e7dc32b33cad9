//! Simulated visits that are shorter than the one that ships with the program.

/// Both legs and the pelvis, a treatment in between, about 160 s; nothing is lost on the way. An
/// invented person.
#[must_use]
pub fn two_legs(seed: u32) -> String {
    format!(
        r#"seed = {seed}
person = "P-901"

[[sensors]]
role = "left-shank"

[[sensors]]
role = "right-shank"

[[sensors]]
role = "pelvis"

[body]
pelvis_roll_per_deg = 0.1

[[script]]
align-knee = {{ times = 3 }}

[[script]]
neutral = {{ side = "left" }}

[[script]]
baseline = {{ side = "left", repetitions = 2 }}

[[script]]
neutral = {{ side = "right" }}

[[script]]
baseline = {{ side = "right", repetitions = 2 }}

[[script]]
treatment = {{ side = "right", cycles = 1, contraction_s = 5, lengthen_s = 5, hold_s = 5 }}

[[script]]
retest = {{ side = "right", repetitions = 2 }}
"#
    )
}
