//! Looking up kept visits.

use super::super::visits::VisitRepetition;
use super::*;
use endarc_protocol::words::{Direction, Phase, Side};

fn kept() -> VisitDetail {
    let summary = VisitSummary {
        id: "9007199254740993".to_owned(),
        person: "P-014".to_owned(),
        started_at: "2026-03-02T09:30:00+01:00".to_owned(),
        state: "closed".to_owned(),
    };
    let repetition = VisitRepetition {
        id: "1".to_owned(),
        side: Side::Right,
        phase: Phase::Baseline,
        direction: Direction::Internal,
        end_range_deg: 32.5,
        uncertainty_deg: f64::NAN,
        end_range_at_s: 12.0,
        value_kind: "live".to_owned(),
        algorithm_version: "1".to_owned(),
        hold_s: 1.5,
        knee_flexion_deg: None,
        pelvis_roll_deg: None,
        barriers: None,
        flags: Vec::new(),
        struck_out: None,
    };
    VisitDetail {
        summary,
        test: "prone-hip-rotation".to_owned(),
        table: None,
        repetitions: vec![repetition],
        biases: Vec::new(),
        changes: Vec::new(),
    }
}

#[tokio::test]
async fn visits_are_listed_and_one_is_shown() {
    let bench = Bench::new(Memory(Some(vec![kept()])));
    let list = json(bench.send(get("/api/visits")).await).await;
    assert_eq!(list[0]["id"], "9007199254740993", "an id survives a script as text");
    let visit = json(bench.send(get("/api/visits/9007199254740993")).await).await;
    assert_eq!(visit["person"], "P-014");
    assert_eq!(visit["repetitions"][0]["direction"], "internal");
    assert!(visit["repetitions"][0]["uncertainty_deg"].is_null(), "JSON has no NaN");
}

#[tokio::test]
async fn an_unknown_visit_is_a_problem() {
    let bench = Bench::new(Memory(Some(vec![kept()])));
    let detail = problem(bench.send(get("/api/visits/5")).await, StatusCode::NOT_FOUND).await;
    assert!(detail.contains("/api/visits"), "{detail}");
}

#[tokio::test]
async fn a_store_that_cannot_be_read_says_why() {
    let bench = Bench::new(Memory(None));
    let answer = bench.send(get("/api/visits")).await;
    let detail = problem(answer, StatusCode::SERVICE_UNAVAILABLE).await;
    assert_eq!(detail, "the database is locked");
}
