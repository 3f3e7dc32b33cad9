//! What each position's truth says against what its sensors would show.

use endarc_protocol::words::{Direction, SensorRole, Side, TrialType};
use nalgebra::{Rotation3, Vector3};

use super::*;
use crate::truth::TruthRepetition;

const SENSORS: &str = "
[[sensors]]
role = \"left-shank\"
[[sensors]]
role = \"right-shank\"
[[sensors]]
role = \"pelvis\"
[body]
tremor_deg = 0
";

fn plan(test: &str, script: &str, body: &str) -> Plan {
    let text = format!("test = \"{test}\"\nscript = [{script}]\n{SENSORS}\n{body}\n");
    Plan::new(&Scenario::parse("test", &text).unwrap())
}

const RIGHT_IS_PLUS: fn(Side) -> f64 = |side| if side == Side::Right { 1.0 } else { -1.0 };

/// Internal rotation that gravity shows where the shank hangs, degrees: `sin θ = −k·u` for the right
/// leg, with k the shank's y.
fn hanging_deg(plan: &Plan, side: Side, time_s: f64) -> f64 {
    let up = plan.motion.up(SensorRole::shank(side), time_s);
    -RIGHT_IS_PLUS(side) * up.y.asin().to_degrees()
}

#[test]
fn hanging_legs_end_where_their_truth_says_and_the_pelvis_is_part_of_what_is_seen() {
    for test in ["seated-hip-rotation", "supine-hanging-hip-rotation"] {
        let plan = plan(test, "{ neutral = {} }, { baseline = {} }", "pelvis_roll_per_deg = 0.2");
        assert_eq!(plan.truth.repetitions.len(), 12);
        for one in &plan.truth.repetitions {
            let shown = hanging_deg(&plan, one.side, one.hold_start_s) * one.direction.sign();
            let expected = one.end_range_deg + one.pelvis_roll_deg;
            assert!((shown - expected).abs() < 0.05, "{test} {shown} {one:?}");
            assert!(one.pelvis_roll_deg > 3.0);
            // The pelvis sensor's y against the vertical shows the roll with the same signs.
            let up = plan.motion.up(SensorRole::Pelvis, one.hold_start_s);
            let roll = -RIGHT_IS_PLUS(one.side) * up.y.asin().to_degrees() * one.direction.sign();
            assert!((roll - one.pelvis_roll_deg).abs() < 0.1, "{test} {roll} {one:?}");
        }
        for event in plan.events.iter().filter(|event| event.trial_type == TrialType::Neutral) {
            let up = plan.motion.up(SensorRole::shank(event.side.unwrap()), event.onset_s);
            assert!(up.z > 0.99, "{test} {up}");
        }
        let up = plan.motion.up(SensorRole::LeftShank, 0.5);
        assert!(up.z > 0.99, "at rest the shank hangs: {up}");
    }
}

#[test]
fn a_hanging_knee_goes_from_hanging_to_straight_whichever_way_it_begins() {
    for test in ["seated-hip-rotation", "supine-hanging-hip-rotation"] {
        for (begins, most_deg) in [("bending", 112.0), ("straightening", 95.0)] {
            let script = format!("{{ align-knee = {{ side = \"left\", begins = \"{begins}\" }} }}");
            let plan = plan(test, &script, "");
            let event = &plan.events[0];
            let knees: Vec<f64> = (0..=500)
                .map(|n| event.onset_s + f64::from(n) * event.duration_s / 500.0)
                .map(|time_s| plan.motion.knee_flexion_deg(Side::Left, time_s))
                .collect();
            let most = knees.iter().copied().fold(f64::MIN, f64::max);
            let least = knees.iter().copied().fold(f64::MAX, f64::min);
            assert!((most_deg - 12.0..most_deg).contains(&most), "{begins} {most}");
            assert!((9.0..21.0).contains(&least), "{begins} {least}");
            assert!((85.0..95.0).contains(&knees[500]));
            // A straight shank is level.
            let shown = (0..=500)
                .map(|n| event.onset_s + f64::from(n) * event.duration_s / 500.0)
                .map(|time_s| plan.motion.up(SensorRole::LeftShank, time_s).z)
                .fold(f64::MAX, f64::min);
            assert!(shown < 0.36, "{shown}");
        }
    }
}

/// Integrates what an ideal gyroscope feels from one time to another.
fn turned(plan: &Plan, role: SensorRole, from_s: f64, to_s: f64) -> Rotation3<f64> {
    let steps = ((to_s - from_s) * 1e3).ceil();
    let step_s = (to_s - from_s) / steps;
    (0..steps as usize).fold(Rotation3::identity(), |sum, n| {
        let middle_s = from_s + (n as f64 + 0.5) * step_s;
        sum * Rotation3::new(plan.motion.felt(role, middle_s).rate_rad_s * step_s)
    })
}

#[test]
fn with_the_thigh_upright_the_heading_since_true_neutral_is_the_angle() {
    let script = "{ neutral = {} }, { baseline = { order = \"alternating\" } }";
    let plan = plan("supine-90-90-hip-rotation", script, "neutral_sd_deg = 0");
    assert_eq!(plan.truth.repetitions.len(), 12);
    for one in &plan.truth.repetitions {
        let role = SensorRole::shank(one.side);
        let up = plan.motion.up(role, one.start_s);
        assert!(up.x > 0.99, "the shin faces up: {up}");
        // The distal end (−z) at the end range, seen in the axes that the shank had at neutral.
        let turn = turned(&plan, role, one.start_s, one.hold_start_s);
        let distal = |v: Vector3<f64>| (v - up * up.dot(&v)).normalize();
        let (before, after) = (distal(-Vector3::z()), distal(turn * -Vector3::z()));
        let heading = before.cross(&after).dot(&up).atan2(before.dot(&after)).to_degrees();
        // Supine, the right foot goes outward clockwise seen from above.
        let shown = -RIGHT_IS_PLUS(one.side) * heading * one.direction.sign();
        assert!((shown - one.end_range_deg).abs() < 0.1, "{shown} {one:?}");
        let up = plan.motion.up(role, one.hold_start_s);
        assert!(up.y.abs() < 0.03 && up.x > 0.97, "gravity shows nothing of it: {up}");
    }
}

#[test]
fn neutral_is_found_by_eye_as_well_as_the_hands_do() {
    let script = "{ baseline = { side = \"right\", repetitions = 40 } }";
    let rests = |sd: f64| -> Vec<f64> {
        let body = format!("neutral_sd_deg = {sd}");
        let plan = plan("supine-90-90-hip-rotation", script, &body);
        let pairs = plan.truth.repetitions.windows(2);
        let gaps = pairs.map(|pair| (pair[0].hold_start_s, pair[1].start_s));
        gaps.map(|(end_s, next_s)| {
            // Still for a second or two before the next one begins.
            for before_s in [0.01, 0.5, 0.99] {
                let felt = plan.motion.felt(SensorRole::RightShank, next_s - before_s);
                assert!(felt.rate_rad_s.norm() < 0.03 && next_s > end_s + 2.0);
            }
            plan.motion.rotation_deg(Side::Right, next_s - 0.01)
        })
        .collect()
    };
    let spread = |of: &[f64]| (of.iter().map(|x| x * x).sum::<f64>() / of.len() as f64).sqrt();
    assert!(spread(&rests(0.0)) < 1e-9);
    let half = spread(&rests(0.5));
    assert!((0.35..0.65).contains(&half), "{half}");
}

#[test]
fn both_feet_fall_outward_together_and_are_left_there() {
    let body = "[body.end_range_deg]\nleft = { internal = 40 }\nright = { internal = 30 }";
    let plan = plan("prone-both-hips-rotation", "{ baseline = {} }", body);
    assert_eq!(plan.events.len(), 1);
    assert_eq!(plan.events[0].side, None);
    let of = |side| -> Vec<TruthRepetition> {
        plan.truth.repetitions.iter().copied().filter(|one| one.side == side).collect()
    };
    let (left, right) = (of(Side::Left), of(Side::Right));
    assert_eq!((left.len(), right.len()), (3, 3));
    for (left, right) in left.iter().zip(&right) {
        assert!((left.start_s - right.start_s).abs() <= 0.15);
        assert!((left.end_range_deg - right.end_range_deg - 10.0).abs() < 5.0);
        for one in [left, right] {
            assert!((2.0..5.0).contains(&one.hold_s) && one.direction == Direction::Internal);
            for part in [0.0, 0.5, 1.0] {
                let time_s = one.hold_start_s + part * one.hold_s;
                let up = plan.motion.up(SensorRole::shank(one.side), time_s);
                // Prone, sin θ = +k·u for the right leg.
                let shown = RIGHT_IS_PLUS(one.side) * up.y.asin().to_degrees();
                assert!((shown - one.end_range_deg).abs() < 0.1, "{shown} {one:?}");
                assert!(plan.motion.up(SensorRole::Pelvis, time_s).y.abs() < 1e-9);
            }
        }
    }
}

#[test]
fn the_pelvis_tilts_from_the_knee_flexion_that_the_truth_says() {
    let script = "{ neutral = {} }, { baseline = { styles = [\"held\", \"touch\"] } }";
    let body = "breathing_deg = 0\npelvis_tilt_per_deg = 0.4\n[body.end_range_deg]\nright = { flexion = 100 }";
    let plan = plan("prone-knee-bend", script, body);
    assert_eq!(plan.truth.repetitions.len(), 6);
    for one in &plan.truth.repetitions {
        let usual_deg = if one.side == Side::Right { 100.0 } else { 125.0 };
        assert!((one.end_range_deg - usual_deg).abs() < 2.5 && one.direction == Direction::Flexion);
        assert_eq!(one.hold_s == 0.0, one.style == Style::Touch);
        let further_deg = one.knee_flexion_deg - one.end_range_deg;
        assert!((4.0..21.0).contains(&further_deg), "{further_deg}");
        assert!(plan.motion.knee_flexion_deg(one.side, one.start_s) < 8.0, "from the flat leg");
        for n in 0..=400 {
            let time_s = one.start_s + f64::from(n) * (one.hold_start_s - one.start_s) / 400.0;
            let up = plan.motion.up(SensorRole::Pelvis, time_s);
            // Tilting forward the vertical leans to the feet.
            let tilt = (-up.x).atan2(up.z).to_degrees();
            // Knee flexion from gravity: the thigh stays on the table.
            let shank = plan.motion.up(SensorRole::shank(one.side), time_s);
            let knee = (-shank.z).atan2(-shank.x).to_degrees();
            let expected = 0.4 * (knee - one.end_range_deg).max(0.0);
            let rounding = if (knee - one.end_range_deg).abs() < 0.8 { 0.08 } else { 0.01 };
            assert!((tilt - expected).abs() < rounding, "{tilt} {expected} at {knee}");
        }
        let up = plan.motion.up(SensorRole::Pelvis, one.hold_start_s);
        let deepest = (-up.x).atan2(up.z).to_degrees();
        // The knee wanders by 0.4° while it is held.
        assert!((deepest - one.pelvis_roll_deg).abs() < 0.3, "{deepest} {one:?}");
        let speed = one.knee_flexion_deg / (one.hold_start_s - one.start_s);
        assert!((19.0..43.0).contains(&speed), "{speed}");
    }
}

#[test]
fn a_treated_thigh_lets_the_knee_bend_further() {
    let script = "{ baseline = { side = \"left\" } }, \
        { treatment = { side = \"left\", direction = \"flexion\", cycles = 1, oscillate_s = 5 } }, \
        { retest = { side = \"left\" } }";
    let body = "repetition_sd_deg = 0\n[body.gain_deg]\nleft = { flexion = 8 }";
    let plan = plan("prone-knee-bend", script, body);
    let ends: Vec<f64> = plan.truth.repetitions.iter().map(|one| one.end_range_deg).collect();
    assert_eq!(ends, [125.0, 125.0, 125.0, 133.0, 133.0, 133.0]);
    let event = &plan.events[1];
    let knees = (0..=500).map(|n| event.onset_s + f64::from(n) * event.duration_s / 500.0);
    let deepest = knees
        .map(|time_s| plan.motion.knee_flexion_deg(Side::Left, time_s))
        .fold(f64::MIN, f64::max);
    assert!((132.0..134.0).contains(&deepest), "{deepest}");
}
