//! What is planned from a script.

use endarc_protocol::words::{Direction, SensorRole};

use super::*;

const SENSORS: &str = "
[[sensors]]
role = \"left-shank\"
[[sensors]]
role = \"right-shank\"
";

fn plan(script: &str) -> Plan {
    let text = format!("{script}\n{SENSORS}\n[body]\ntremor_deg = 0\nrepetition_sd_deg = 1\n");
    Plan::new(&Scenario::parse("test", &text).unwrap())
}

/// Hip rotation along the direction from what gravity shows at a time, degrees.
fn shown_deg(plan: &Plan, side: Side, direction: Direction, time_s: f64) -> f64 {
    let up = plan.motion.up(SensorRole::shank(side), time_s);
    let mirror = if side == Side::Right { 1.0 } else { -1.0 };
    mirror * direction.sign() * up.y.asin().to_degrees()
}

#[test]
fn every_style_ends_where_its_truth_says_and_nowhere_further() {
    let styles = r#"["held", "touch", "through", "deeper", "contract", "slow", "fast",
        "oscillate-at-end", "drift", "marked"]"#;
    let script = format!(
        "script = [{{ baseline = {{ repetitions = 10, order = \"alternating\", styles = {styles} }} }}]"
    );
    let plan = plan(&script);
    assert_eq!(plan.truth.repetitions.len(), 40);
    for one in &plan.truth.repetitions {
        let shown = |time_s| shown_deg(&plan, one.side, one.direction, time_s);
        let arrived = shown(one.hold_start_s);
        assert!((arrived - one.end_range_deg).abs() < 0.05, "{arrived} {one:?}");
        let span_s = one.hold_start_s + one.hold_s + 0.3 - one.start_s;
        let deepest = (0..=300)
            .map(|n| shown(one.start_s + f64::from(n) * span_s / 300.0))
            .fold(f64::MIN, f64::max);
        assert!(deepest < one.end_range_deg + 0.25, "{deepest} {one:?}");
        assert_eq!(one.hold_s == 0.0, one.style == Style::Touch);
    }
}

#[test]
fn a_contraction_gives_two_to_five_degrees_before_it_goes_further() {
    let plan = plan(r#"script = [{ baseline = { styles = ["contract"] } }]"#);
    for one in &plan.truth.repetitions {
        let course: Vec<f64> = (0..400)
            .map(|n| one.start_s + f64::from(n) * (one.hold_start_s - one.start_s) / 400.0)
            .map(|time_s| shown_deg(&plan, one.side, one.direction, time_s))
            .collect();
        let (mut peak, mut give) = (f64::MIN, 0.0_f64);
        for angle in course {
            peak = peak.max(angle);
            give = give.max(peak - angle);
        }
        assert!((1.9..5.1).contains(&give), "{give}");
    }
}

#[test]
fn only_what_is_marked_is_small_and_it_is_marked_in_its_hold() {
    let plan = plan(r#"script = [{ baseline = { styles = ["marked", "held", "wander"] } }]"#);
    assert_eq!(plan.truth.repetitions.len(), 8, "wandering is no repetition");
    for one in &plan.truth.repetitions {
        assert_eq!(one.end_range_deg < 8.0, one.style == Style::Marked);
        assert_eq!(one.marked_s.is_some(), one.style == Style::Marked);
        if let Some(marked_s) = one.marked_s {
            assert!((0.0..one.hold_s).contains(&(marked_s - one.hold_start_s)));
        }
    }
}

#[test]
fn a_stiff_hip_rests_short_of_its_end() {
    let text = format!(
        "script = [{{ baseline = {{ side = \"left\" }} }}]
         {SENSORS}
         [body]
         tremor_deg = 0
         end_range_deg = {{ left = {{ internal = -6, external = 40 }} }}"
    );
    let plan = Plan::new(&Scenario::parse("test", &text).unwrap());
    let first = &plan.truth.repetitions[0];
    let rests_deg = shown_deg(&plan, Side::Left, Direction::Internal, first.start_s);
    assert!((-20.0..-16.0).contains(&rests_deg), "{rests_deg}");
    assert!(first.end_range_deg < 0.0);
}

#[test]
fn a_limb_that_drifts_comes_back_to_where_it_crept() {
    let plan = plan(r#"script = [{ baseline = { side = "left", styles = ["drift"] } }]"#);
    for one in &plan.truth.repetitions {
        let from_deg = shown_deg(&plan, one.side, one.direction, one.start_s);
        let to_deg = shown_deg(&plan, one.side, one.direction, one.hold_start_s + one.hold_s + 2.5);
        assert!((2.9..6.1).contains(&from_deg.abs()), "{from_deg}");
        assert!((from_deg - to_deg).abs() < 1.6, "{from_deg} {to_deg}");
    }
}

#[test]
fn through_goes_from_end_to_end_without_stopping() {
    let plan = plan(
        r#"script = [{ baseline = { side = "left", repetitions = 2, order = "alternating", styles = ["through"] } }]"#,
    );
    for pair in plan.truth.repetitions.windows(2) {
        let left_s = pair[0].hold_start_s + pair[0].hold_s;
        assert_eq!(pair[1].start_s, left_s);
        assert!(pair[1].hold_start_s - left_s < 3.5);
    }
}

#[test]
fn slow_is_about_two_degrees_a_second() {
    let plan = plan(r#"script = [{ baseline = { styles = ["slow"] } }]"#);
    for one in &plan.truth.repetitions {
        let speed = one.end_range_deg / (one.hold_start_s - one.start_s);
        assert!((1.8..2.2).contains(&speed), "{speed}");
    }
}

#[test]
fn only_the_treated_leg_gains_and_only_afterwards() {
    let text = format!(
        "script = [{{ baseline = {{}} }}, {{ treatment = {{ side = \"right\" }} }}, {{ retest = {{}} }}]
         {SENSORS}
         [body]
         repetition_sd_deg = 0
         gain_deg = {{ left = {{ internal = 5, external = 5 }}, right = {{ internal = 9, external = 1 }} }}"
    );
    let plan = Plan::new(&Scenario::parse("test", &text).unwrap());
    let mean = |side, phase, direction| {
        let ends: Vec<f64> = plan
            .truth
            .repetitions
            .iter()
            .filter(|one| (one.side, one.phase, one.direction) == (side, phase, direction))
            .map(|one| one.end_range_deg)
            .collect();
        assert_eq!(ends.len(), 3);
        ends.iter().sum::<f64>() / 3.0
    };
    for (side, direction, gain) in [
        (Side::Left, Direction::Internal, 0.0),
        (Side::Left, Direction::External, 0.0),
        (Side::Right, Direction::Internal, 9.0),
        (Side::Right, Direction::External, 1.0),
    ] {
        let change = mean(side, Phase::Retest, direction) - mean(side, Phase::Baseline, direction);
        assert!((change - gain).abs() < 1e-9, "{side} {direction} {change}");
    }
}

#[test]
fn alignment_that_begins_with_bending_begins_flat() {
    for (begins, flat) in [("bending", true), ("straightening", false)] {
        let plan = plan(&format!(
            r#"script = [{{ neutral = {{ side = "left" }} }}, {{ align-knee = {{ side = "left", begins = "{begins}" }} }}]"#
        ));
        let onset_s = plan.events[1].onset_s;
        let knee_deg = plan.motion.knee_flexion_deg(Side::Left, onset_s);
        assert_eq!(knee_deg < 10.0, flat, "{begins}: {knee_deg}");
        let end_deg = plan.motion.knee_flexion_deg(Side::Left, plan.events[1].end_s());
        assert!((80.0..100.0).contains(&end_deg));
    }
}

#[test]
fn one_leg_lies_flat_and_still_while_the_other_is_worked() {
    let plan = Plan::new(&Scenario::clinic());
    for event in &plan.events {
        let rests = event.side.unwrap().other();
        for part in [0.0, 0.3, 0.8, 1.0] {
            let time_s = event.onset_s + part * event.duration_s;
            let felt = plan.motion.felt(SensorRole::shank(rests), time_s);
            assert_eq!(felt.rate_rad_s.norm(), 0.0, "{event:?}");
            assert!(plan.motion.knee_flexion_deg(rests, time_s) < 8.0);
        }
    }
}

#[test]
fn a_neutral_hold_is_about_vertical_and_still() {
    let plan = plan("script = [{ neutral = { hold_s = 4 } }]");
    for event in &plan.events {
        assert!((event.duration_s - 4.0).abs() < 1e-9);
        for part in [0.0, 0.5, 1.0] {
            let time_s = event.onset_s + part * event.duration_s;
            let role = SensorRole::shank(event.side.unwrap());
            let up = plan.motion.up(role, time_s);
            assert!(up.z < -0.99, "{up}");
        }
    }
}

#[test]
fn a_rest_lays_the_leg_down_once_and_waits() {
    let without =
        plan("script = [{ neutral = { side = \"left\" } }, { baseline = { side = \"left\" } }]");
    let with = plan(
        "script = [{ neutral = { side = \"left\" } }, { rest = { duration_s = 20 } }, { baseline = { side = \"left\" } }]",
    );
    let later_s = with.events[1].onset_s - without.events[1].onset_s;
    assert!((20.0..28.0).contains(&later_s), "{later_s}");
    let resting_s = with.events[0].end_s() + 10.0;
    assert!(with.motion.knee_flexion_deg(Side::Left, resting_s) < 8.0);
}

#[test]
fn treatment_works_at_the_end_range_and_never_far_beyond_it() {
    let text = format!(
        "script = [{{ treatment = {{ side = \"left\", cycles = 3, oscillate_s = 10 }} }}]
         {SENSORS}
         [body]
         tremor_deg = 0
         end_range_deg = {{ left = {{ internal = 30, external = 40 }}, right = {{ internal = 30, external = 40 }} }}
         gain_deg = {{ left = {{ internal = 9, external = 0 }}, right = {{ internal = 0, external = 0 }} }}"
    );
    let plan = Plan::new(&Scenario::parse("test", &text).unwrap());
    let event = &plan.events[0];
    // Three cycles of 10 s contraction, 20 s lengthening and 25 s hold, and 10 s of oscillation.
    assert!((175.0..195.0).contains(&event.duration_s), "{}", event.duration_s);
    let angles: Vec<f64> = (0..=2_000)
        .map(|n| event.onset_s + f64::from(n) * event.duration_s / 2_000.0)
        .map(|time_s| shown_deg(&plan, Side::Left, Direction::Internal, time_s))
        .collect();
    let deepest = angles.iter().copied().fold(f64::MIN, f64::max);
    assert!((38.9..39.1).contains(&deepest), "{deepest}");
    let near_the_end = angles.iter().filter(|angle| **angle > 24.0).count();
    assert!(near_the_end > 1_850, "{near_the_end}");
    assert!(plan.truth.repetitions.is_empty());
}

#[test]
fn the_clinic_visit_is_five_to_six_minutes_and_one_direction_gains() {
    let plan = Plan::new(&Scenario::clinic());
    assert!((300.0..=360.0).contains(&plan.duration_s), "{}", plan.duration_s);
    assert_eq!(plan.truth.repetitions.len(), 24);
    let mean = |side, phase, direction| {
        let all = plan.truth.repetitions.iter();
        let ends =
            all.filter(|one| (one.side, one.phase, one.direction) == (side, phase, direction));
        ends.map(|one| one.end_range_deg).sum::<f64>() / 3.0
    };
    for side in [Side::Left, Side::Right] {
        for direction in [Direction::Internal, Direction::External] {
            let change =
                mean(side, Phase::Retest, direction) - mean(side, Phase::Baseline, direction);
            let gains = (side, direction) == (Side::Right, Direction::Internal);
            assert_eq!(change > 9.5, gains, "{side} {direction} {change}");
            assert!(gains || change.abs() < 4.0, "{side} {direction} {change}");
        }
    }
}
