//! Simulated visits that are shorter than the one that ships with the program.

/// A visit for the guide: long rests where the hands are free, both legs prepared and measured, the
/// right one treated, a minute's rest before the retest. An invented person.
#[must_use]
pub fn guided(seed: u32, first_rest_s: u32) -> String {
    format!(
        r#"seed = {seed}
person = "P-902"

[[sensors]]
role = "left-shank"

[[sensors]]
role = "right-shank"

[body.gain_deg]
right = {{ internal = 10 }}

[[script]]
rest = {{ duration_s = {first_rest_s} }}

[[script]]
align-knee = {{ side = "right", begins = "bending", times = 3 }}

[[script]]
neutral = {{ side = "right", hold_s = 5 }}

[[script]]
rest = {{ duration_s = 3 }}

[[script]]
align-knee = {{ side = "left", begins = "bending", times = 3 }}

[[script]]
neutral = {{ side = "left", hold_s = 5 }}

[[script]]
rest = {{ duration_s = 3 }}

[[script]]
baseline = {{ side = "right", repetitions = 2 }}

[[script]]
baseline = {{ side = "left", repetitions = 2 }}

[[script]]
rest = {{ duration_s = 5 }}

[[script]]
treatment = {{ side = "right", cycles = 1, contraction_s = 7, lengthen_s = 8, hold_s = 5 }}

[[script]]
rest = {{ duration_s = 80 }}

[[script]]
retest = {{ side = "right", repetitions = 2 }}

[[script]]
retest = {{ side = "left", repetitions = 2 }}

[[script]]
rest = {{ duration_s = 600 }}
"#
    )
}

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
