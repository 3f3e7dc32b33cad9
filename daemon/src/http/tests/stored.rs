//! Visits of a real database, seen through the interface.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use jiff::Timestamp;

use super::super::StoredVisits;
use super::*;
use crate::store::rows::{NewRepetition, NewVisit, RepetitionValue, Verdict};
use crate::store::words::{Finding, Source, ValueKind};
use crate::store::{VisitId, WallTime, Write, Writer, open};

fn new_visit(person: &str) -> NewVisit {
    NewVisit {
        person: person.parse().expect("a code"),
        test: TestKind::ProneHipRotation,
        source: Source::Sim,
        started: WallTime {
            utc: "2026-11-25T08:30:00Z".parse().expect("a time"),
            offset_s: 3600,
            zone: None,
        },
        started_s: 0.0,
        table_tilt_deg: None,
        primary: None,
        end_criterion: None,
        notes: None,
        program_version: "0.1.0".to_owned(),
    }
}

fn value(kind: ValueKind, end_range_deg: f64) -> RepetitionValue {
    RepetitionValue {
        kind,
        algorithm_version: "1".to_owned(),
        end_range_deg,
        uncertainty_deg: 0.8,
        start_s: 10.0,
        end_range_at_s: 12.5,
        hold_s: 1.25,
        knee_flexion_deg: Some(91.0),
        pelvis_roll_deg: None,
        barriers: None,
        flags: Vec::new(),
        computed_at: Timestamp::UNIX_EPOCH,
    }
}

fn new_repetition(visit: VisitId) -> NewRepetition {
    NewRepetition {
        visit,
        side: Side::Left,
        phase: Phase::Baseline,
        direction: Direction::External,
        rater: None,
        end_criterion: None,
        strap_epoch: None,
        value: value(ValueKind::Live, 41.5),
    }
}

fn verdict(visit: VisitId, algorithm_version: &str) -> Verdict {
    Verdict {
        visit,
        side: Side::Left,
        direction: None,
        baseline_count: 1,
        retest_count: 0,
        baseline_mean_deg: Some(41.0),
        retest_mean_deg: None,
        change_deg: None,
        ci95_deg: None,
        mdc95_deg: None,
        mdc95_source: "none".to_owned(),
        finding: Finding::NotEnough,
        statement: format!("by {algorithm_version}"),
        algorithm_version: algorithm_version.to_owned(),
        computed_at: Timestamp::UNIX_EPOCH,
    }
}

async fn fill(dir: &std::path::Path) -> VisitId {
    let writer = Writer::start(open(dir).expect("a store")).expect("a thread");
    let store = writer.handle();
    store.begin_visit(new_visit("P-001")).await.expect("a visit");
    let visit = store.begin_visit(new_visit("P-014")).await.expect("a visit");
    let repetition = store.add_repetition(new_repetition(visit)).await.expect("a repetition");
    let refined = Write::RepetitionValue { repetition, value: value(ValueKind::Final, 41.0) };
    store.save(refined).await.expect("a value");
    for version in ["1", "2"] {
        store.save(Write::Verdict(verdict(visit, version))).await.expect("a verdict");
    }
    writer.close().await.expect("an orderly end");
    visit
}

#[tokio::test]
async fn stored_visits_are_shown_newest_first_with_their_final_values() {
    let dir = tempfile::tempdir().expect("a folder");
    let id = fill(dir.path()).await;
    let bench = Bench::new(StoredVisits::new(dir.path().to_owned()));
    let list = json(bench.send(get("/api/visits")).await).await;
    assert_eq!(list.as_array().expect("a list").len(), 2);
    assert_eq!(list[0]["id"], id.to_string());
    assert_eq!(list[0]["started_at"], "2026-11-25T09:30:00+01:00");
    let visit = json(bench.send(get(&format!("/api/visits/{id}"))).await).await;
    assert_eq!(visit["person"], "P-014");
    let repetition = &visit["repetitions"][0];
    assert_eq!(repetition["end_range_deg"], 41.0);
    assert_eq!(repetition["value_kind"], "final");
    assert_eq!(visit["changes"].as_array().expect("a list").len(), 1, "one per side and direction");
    assert_eq!(visit["changes"][0]["statement"], "by 2");
}

#[tokio::test]
async fn an_id_that_is_no_number_is_no_visit() {
    let dir = tempfile::tempdir().expect("a folder");
    fill(dir.path()).await;
    let bench = Bench::new(StoredVisits::new(dir.path().to_owned()));
    problem(bench.send(get("/api/visits/twelve")).await, StatusCode::NOT_FOUND).await;
    problem(bench.send(get("/api/visits/99")).await, StatusCode::NOT_FOUND).await;
}

#[tokio::test]
async fn without_a_database_the_remedy_is_said() {
    let dir = tempfile::tempdir().expect("a folder");
    let bench = Bench::new(StoredVisits::new(dir.path().to_owned()));
    let answer = bench.send(get("/api/visits")).await;
    let detail = problem(answer, StatusCode::SERVICE_UNAVAILABLE).await;
    assert!(detail.contains("--data-dir"), "{detail}");
}
