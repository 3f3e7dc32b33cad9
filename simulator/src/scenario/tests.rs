//! Scenarios, good and bad.

use endarc_protocol::words::Direction;

use super::*;

const SHORT: &str = "\
[[sensors]]
role = \"right-shank\"

[[script]]
baseline = {}
";

fn error(text: &str) -> String {
    Scenario::parse("s.toml", text).unwrap_err().to_string()
}

#[test]
fn a_short_scenario_has_good_defaults() {
    let scenario = Scenario::parse("s.toml", SHORT).unwrap();
    assert_eq!(scenario.rate_hz(), 100.0);
    assert_eq!(scenario.legs(), [Side::Right]);
    assert_eq!(scenario.test(), TestKind::ProneHipRotation);
}

#[test]
fn the_shipped_visit_parses_and_has_both_legs_and_a_pelvis() {
    let scenario = Scenario::parse("clinic.toml", Scenario::CLINIC).unwrap();
    assert_eq!(scenario.legs(), [Side::Left, Side::Right]);
    assert_eq!(scenario.sensors.len(), 3);
    assert_eq!(scenario, Scenario::clinic());
}

#[test]
fn an_unknown_key_is_refused_by_file_line_and_name() {
    let text = SHORT.replace("baseline = {}", "baseline = { rpetitions = 3 }");
    let message = error(&text);
    assert!(message.starts_with("s.toml, line 5: rpetitions: unknown field"), "{message}");
    assert!(message.contains("repetitions"), "{message}");
    let message = error(&format!("sede = 3\n{SHORT}"));
    assert!(message.starts_with("s.toml, line 1: sede: unknown field"), "{message}");
}

#[test]
fn a_value_out_of_range_names_field_and_range() {
    let message = error(&format!("rate_hz = 5\n{SHORT}"));
    assert_eq!(message, "s.toml, line 1: rate_hz: 5 does not lie between 20 and 1000");
    let message =
        error(&format!("{SHORT}\n[body.end_range_deg]\nleft = {{ internal = 200, external = 3 }}"));
    assert_eq!(message, "s.toml, line 8: internal: 200 does not lie between -60 and 90");
}

#[test]
fn words_and_types_are_checked() {
    let message = error(&SHORT.replace("right-shank", "thigh"));
    assert!(message.starts_with("s.toml, line 2: role: unknown variant `thigh`"), "{message}");
    let message = error(&format!("seed = \"x\"\n{SHORT}"));
    assert!(message.starts_with("s.toml, line 1: seed: invalid type"), "{message}");
    let message = error(&SHORT.replace("{}", "{ styles = [] }"));
    assert!(message.contains("line 5: styles: the list is empty"), "{message}");
    assert!(error("seed = ").starts_with("s.toml, line 1: "));
    assert!(error("seed = 1").contains("missing field `sensors`"));
}

#[test]
fn a_step_needs_a_sensor_on_its_leg() {
    let message = error(&SHORT.replace("{}", "{ side = \"left\" }"));
    assert!(message.contains("line 4: baseline: no sensor is worn on the left shank"), "{message}");
}

#[test]
fn two_sensors_in_one_place_are_refused() {
    let message = error(&format!("[[sensors]]\nrole = \"right-shank\"\n{SHORT}"));
    assert!(message.contains("line 3: sensors: there are two sensors"), "{message}");
    let message = error(&SHORT.replace("right-shank", "pelvis"));
    assert!(message.contains("no sensor is worn on a shank"), "{message}");
}

#[test]
fn through_needs_another_end_to_go_to() {
    let message = error(&SHORT.replace("{}", "{ styles = [\"through\"] }"));
    assert!(message.contains("set order = \"alternating\""), "{message}");
}

#[test]
fn a_treatment_does_something() {
    let message = error(&SHORT.replace("baseline = {}", "treatment = { cycles = 0 }"));
    assert!(message.contains("treatment: nothing is done: set cycles or oscillate_s"), "{message}");
}

#[test]
fn what_is_left_out_of_end_ranges_and_gains_keeps_its_default() {
    let text = format!("{SHORT}\n[body.gain_deg]\nright = {{ internal = 7 }}");
    let body = Scenario::parse("s.toml", &text).unwrap().body;
    assert_eq!(body.gain_deg(Side::Right, Direction::Internal), 7.0);
    assert_eq!(body.gain_deg(Side::Right, Direction::External), 0.0);
    assert_eq!(body.gain_deg(Side::Left, Direction::Internal), 0.0);
    assert_eq!(body.end_range_deg(Side::Left, Direction::External), 43.0);
}

#[test]
fn every_key_is_described() {
    let description = include_str!("../../scenarios/README.md");
    let step = |name: &str| SHORT.replace("baseline = {}", &format!("{name} = {{ nokey = 0 }}"));
    let mut texts = vec![
        format!("nokey = 0\n{SHORT}"),
        SHORT.replace("role =", "nokey = 0\nrole ="),
        SHORT.replace("baseline =", "nokey ="),
        format!("{SHORT}\n[link]\nnokey = 0"),
        format!("{SHORT}\n[body]\nnokey = 0"),
        SHORT.replace("{}", "{ styles = [\"nokey\"] }"),
    ];
    let steps =
        ["neutral", "align-knee", "baseline", "treatment", "retest", "rest", "strap", "foot-down"];
    texts.extend(steps.map(step));
    let mut described = 0;
    for text in texts {
        let message = error(&text);
        let (_, known) = message.split_once("expected ").expect(&message);
        for key in known.split('`').skip(1).step_by(2) {
            let written = [format!("`{key}`"), format!("`[{key}]`"), format!("`[[{key}]]`")];
            assert!(written.iter().any(|key| description.contains(key)), "{key}");
            described += 1;
        }
    }
    assert!(described > 55, "{described}");
}
