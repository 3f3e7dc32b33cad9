//! Random visits for benches: legs, sensors, straps, rates and movements drawn from a seed.

use endarc_protocol::words::{Side, TestKind};

/// A random visit of one leg as a scenario, and the leg.
pub(crate) fn seeded_visit(seed: u64, test: TestKind) -> (Side, String) {
    let mut chance = Chance::from_seed(seed);
    let side = if chance.happens(0.5) { Side::Left } else { Side::Right };
    let cheap = chance.happens(0.3);
    let bends = test == TestKind::ProneKneeBend;
    let pelvis = chance.happens(0.5) || bends;
    let alternating = chance.happens(0.4);
    let one_way = test.directions().len() == 1;
    let styles: &[&str] = if test == TestKind::ProneBothHipsRotation {
        &[r#""held""#]
    } else if one_way {
        &[r#""held""#, r#""held", "touch""#]
    } else if alternating {
        &[
            r#""held", "through", "touch""#,
            r#""through""#,
            r#""held", "deeper", "contract", "touch""#,
        ]
    } else {
        &[r#""held""#, r#""touch""#, r#""slow""#, r#""deeper", "held""#, r#""contract""#]
    };
    let styles = chance.pick(styles);
    let order = if alternating && !one_way { "alternating" } else { "blocked" };
    let pelvis_sensor =
        if pelvis { "[[sensors]]\nrole = \"pelvis\"\nmounting_error_deg = 12\n" } else { "" };
    let text = format!(
        "seed = {seed}\ntest = \"{test}\"\nrate_hz = {rate}\n\
         [[sensors]]\nrole = \"{side}-shank\"\nmounting_error_deg = {askew:.1}\n\
         accel_offset_mg = {accel}\ngyro_offset_deg_s = {gyro}\n{pelvis_sensor}\
         [link]\nloss = {loss}\n\
         [body]\ntremor_deg = {tremor:.2}\nrepetition_sd_deg = 1.5\nknee_flexion_deg = {knee:.0}\n\
         knee_spread_deg = {spread}\npelvis_roll_per_deg = {roll:.2}\n\
         [body.end_range_deg]\n{side} = {{ internal = {inward:.1}, external = {outward:.1}, flexion = {flexion:.0} }}\n\
         [[script]]\nalign-knee = {{ begins = \"{begins}\", times = {times} }}\n\
         [[script]]\nneutral = {{}}\n\
         [[script]]\nbaseline = {{ styles = [{styles}], order = \"{order}\" }}\n\
         [[script]]\ntreatment = {{ direction = \"{treated}\", cycles = 1, contraction_s = 5, lengthen_s = 5, hold_s = 5, oscillate_s = 5 }}\n\
         [[script]]\nretest = {{ styles = [{styles}], order = \"{order}\" }}\n",
        rate = chance.pick(&["50", "100", "104", "200"]),
        askew = chance.between(0.0, 40.0),
        accel = if cheap { 30.0 } else { 5.0 },
        gyro = if cheap { 1.5 } else { 0.5 },
        loss = if chance.happens(0.3) { 0.02 } else { 0.0 },
        tremor = chance.between(0.05, 0.35),
        // The knee bend counts from a shank held vertical by eye.
        knee = if bends { chance.between(87.0, 93.0) } else { chance.between(80.0, 100.0) },
        spread = if bends { 2 } else { 8 },
        // About an upright thigh no sensor sees the pelvis turn: there it is held.
        roll = if pelvis && test != TestKind::Supine9090HipRotation {
            chance.between(0.0, 0.2)
        } else {
            0.0
        },
        inward = chance.between(12.0, 45.0),
        outward = chance.between(12.0, 45.0),
        flexion = chance.between(85.0, 120.0),
        treated = test.directions()[0],
        begins = chance.pick(&["bending", "straightening"]),
        times = chance.pick(&["2", "3", "4"]),
    );
    (side, text)
}

/// A small seeded generator, so that the same visit is drawn everywhere (Knuth's MMIX multiplier).
struct Chance(u64);

impl Chance {
    /// Neighbouring seeds must not draw alike, so the seed is mixed first (Stafford's variant 13, as in
    /// Steele, Lea & Flood's SplitMix64, OOPSLA 2014).
    fn from_seed(seed: u64) -> Self {
        let mut mixed = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        Self(mixed ^ (mixed >> 31))
    }

    fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        from[(self.unit() * from.len() as f64) as usize]
    }
}
