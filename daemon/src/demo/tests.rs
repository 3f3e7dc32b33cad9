//! The demo's answers, on an outcome made by hand.

use endarc_analysis::result::Repetition;
use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use endarc_simulator::{Style, TruthRepetition};

use super::*;

fn measured(phase: Phase, end_range_deg: f64, end_range_at_s: f64) -> Repetition {
    Repetition {
        side: Side::Right,
        phase,
        direction: Direction::Internal,
        end_range_deg,
        uncertainty_deg: 0.5,
        start_s: end_range_at_s - 2.0,
        end_range_at_s,
        hold_s: 1.4,
        knee_flexion_deg: Some(90.0),
        pelvis_roll_deg: None,
        barriers: None,
        flags: Vec::new(),
    }
}

fn truth(phase: Phase, end_range_deg: f64, hold_start_s: f64) -> TruthRepetition {
    TruthRepetition {
        side: Side::Right,
        phase,
        direction: Direction::Internal,
        style: Style::Held,
        end_range_deg,
        pelvis_roll_deg: 0.0,
        hold_start_s,
        hold_s: 1.5,
        start_s: hold_start_s - 2.0,
        first_end_s: hold_start_s,
        left_s: hold_start_s + 1.5,
        knee_flexion_deg: 90.0,
        start_barrier_deg: None,
        marked_s: None,
    }
}

/// Three before and three after of which the last was missed, and one that never was.
fn by_hand() -> Outcome {
    let mut all = Vec::new();
    let mut happened = Vec::new();
    for (number, at_s) in [10.0, 20.0, 30.0].into_iter().enumerate() {
        all.push(measured(Phase::Baseline, 30.2, at_s));
        happened.push(truth(Phase::Baseline, 30.0, at_s));
        happened.push(truth(Phase::Retest, 40.0, at_s + 60.0));
        if number < 2 {
            all.push(measured(Phase::Retest, 40.3, at_s + 60.0));
        }
    }
    all.push(measured(Phase::Retest, 12.0, 50.0));
    Outcome {
        visit: "4".to_owned(),
        person: "P-014".to_owned(),
        repetitions: matches(&all, &happened),
        ..outcome::compared(TestKind::ProneHipRotation, &all)
    }
}

fn keys(value: &serde_json::Value, all: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(object) => {
            for (key, value) in object {
                all.push(key.clone());
                keys(value, all);
            }
        }
        serde_json::Value::Array(array) => array.iter().for_each(|value| keys(value, all)),
        _ => {}
    }
}

#[test]
fn the_json_sets_each_measured_repetition_beside_the_true_one() {
    let json = serde_json::to_value(OutcomeJson::from(&by_hand())).unwrap();
    assert_eq!(json["visit"], serde_json::json!({ "id": "4", "person": "P-014" }));
    let first = &json["repetitions"][0];
    assert_eq!(
        (first["side"].as_str(), first["end_range_deg"].as_f64()),
        (Some("right"), Some(30.2))
    );
    let expected = serde_json::json!({
        "side": "right", "phase": "baseline", "direction": "internal", "end_range_deg": 30.0,
    });
    assert_eq!(first["truth"], expected);
    assert_eq!(json["repetitions"].as_array().unwrap().len(), 5);
    assert_eq!(json["missed"].as_array().unwrap().len(), 1);
    assert_eq!(json["invented"][0]["end_range_deg"], 12.0);
    assert!(json["verdicts"].as_array().unwrap().iter().all(|one| one["side"] == "right"));

    let mut all = Vec::new();
    keys(&json, &mut all);
    assert!(all.iter().all(|key| key == "truth" || !key.contains("truth")));
}

fn summary(outcome: &Outcome) -> String {
    let mut text = Vec::new();
    write_summary(&mut text, outcome).unwrap();
    String::from_utf8(text).unwrap()
}

#[test]
fn the_summary_says_what_can_be_called_a_change_how_exact_it_is_and_what_to_mind() {
    let outcome = by_hand();
    let text = summary(&outcome);
    for verdict in &outcome.verdicts {
        assert!(text.contains(&verdict.statement), "{text}");
    }
    assert!(text.contains("5 were measured, 1 missed and 1 invented"), "{text}");
    assert!(text.contains("largest error of an end range is 0.3°"), "{text}");
    assert!(text.contains("total rotation"), "{text}");
    assert!(text.contains("at most 0.5°"), "{text}");
    assert!(text.contains("the method itself"), "{text}");
    assert!(text.contains("Stop on pain"), "{text}");
    assert!(text.contains("not a diagnostic or medical device"), "{text}");
    assert!(!text.contains("Left leg"), "{text}");
}

#[test]
fn a_visit_without_a_repetition_claims_no_figure() {
    let empty = Outcome { repetitions: Matches::default(), verdicts: Vec::new(), ..by_hand() };
    let text = summary(&empty);
    assert!(text.contains("made 0 repetitions; none of them was measured"), "{text}");
    assert!(!text.contains("at most"), "{text}");
    assert!(text.contains("Stop on pain"), "{text}");
}
