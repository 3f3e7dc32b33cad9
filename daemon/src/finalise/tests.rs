//! Final values beside what was captured live, or missed.

use std::path::Path;

use endarc_analysis::result::More;
use endarc_protocol::words::{Direction, Phase, TestKind};
use endarc_simulator::{Scenario, Session};

use super::*;
use crate::clock;
use crate::store::rows::{Look, NewSpan, NewVisit, RawChunk, StrappedSensor};
use crate::store::words::{LookTold, Source, VisitState};
use crate::store::{self, WallTime, Writer, chunk};

const SCENARIO: &str = r#"
seed = 3
rate_hz = 50

[[sensors]]
role = "left-shank"

[[script]]
neutral = { side = "left" }

[[script]]
align-knee = { side = "left", times = 3 }

[[script]]
baseline = { side = "left" }
"#;

/// Repetitions of the scenario: three each way.
const REPETITIONS: usize = 6;

/// A visit with raw samples and spans, of which live captured nothing.
async fn unheard(folder: &Path) -> (Writer, VisitId) {
    let writer = Writer::start(store::open(folder).unwrap()).unwrap();
    let handle = writer.handle();
    let session = Session::new(&Scenario::parse("left.toml", SCENARIO).unwrap());
    let new = NewVisit {
        person: "P-001".parse().unwrap(),
        test: TestKind::ProneHipRotation,
        source: Source::Sim,
        started: WallTime::from(&clock::wall()),
        started_s: 0.0,
        table_tilt_deg: None,
        primary: None,
        end_criterion: None,
        notes: None,
        program_version: "test".to_owned(),
    };
    let visit = handle.begin_visit(new).await.unwrap();
    let role = SensorRole::LeftShank;
    let strapped = StrappedSensor {
        visit,
        role,
        strap_epoch: rows::STRAP_EPOCH,
        from_s: 0.0,
        address: "sim:left".to_owned(),
        name: None,
        serial: None,
        profile: "none".to_owned(),
        scale: None,
        calibrated: true,
    };
    handle.save(Write::StrapSensor(strapped)).await.unwrap();
    let readings = chunk::Readings::Values(session.samples(role).collect());
    let chunk = RawChunk { visit, role, strap_epoch: 0, counter_epoch: 0, readings };
    handle.save(Write::Chunk(chunk)).await.unwrap();
    for event in session.events() {
        let Event { trial_type, side, onset_s: start_s, .. } = *event;
        let span = handle.begin_span(NewSpan { visit, trial_type, side, start_s }).await.unwrap();
        handle.save(Write::EndSpan { span, end_s: event.end_s() }).await.unwrap();
    }
    let ended_s = session.duration_s();
    let end = Write::EndVisit { visit, state: VisitState::Closed, ended_s };
    handle.save(end).await.unwrap();
    (writer, visit)
}

fn read(folder: &Path, visit: VisitId) -> VisitRecord {
    Reader::open(folder).unwrap().visit(visit).unwrap().unwrap()
}

/// Repetitions that the comparisons of both directions rest on.
fn compared(finalised: &Finalised) -> usize {
    let directed = finalised.verdicts.iter().filter(|verdict| verdict.direction.is_some());
    directed.map(|verdict| verdict.baseline_count).sum()
}

#[tokio::test]
async fn what_live_missed_is_added_and_a_second_run_adds_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, visit) = unheard(folder.path()).await;
    let first = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    assert_eq!(first.repetitions.len(), REPETITIONS);
    let second = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    assert_eq!(first, second);
    writer.close().await.unwrap();
    let record = read(folder.path(), visit);
    assert_eq!(record.repetitions.len(), REPETITIONS);
    assert!(record.repetitions.iter().all(|one| one.live.is_none() && one.finals.len() == 1));
    assert_eq!(record.verdicts.len(), 3);
}

#[tokio::test]
async fn what_was_taken_back_stays_so_and_is_not_compared() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, visit) = unheard(folder.path()).await;
    let before = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    let reason = Some("taken back".to_owned());
    for kept in &before.repetitions[..2] {
        let strike = Write::StrikeOut { repetition: kept.id, reason: reason.clone() };
        writer.handle().save(strike).await.unwrap();
    }
    let after = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    assert_eq!(after.repetitions.len(), REPETITIONS);
    assert_eq!(after.counting().count(), REPETITIONS - 2);
    assert_eq!((compared(&before), compared(&after)), (REPETITIONS, REPETITIONS - 2));
    writer.close().await.unwrap();
}

#[tokio::test]
async fn what_an_earlier_analysis_did_not_find_counts_once_it_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, visit) = unheard(folder.path()).await;
    let before = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    let [first, second, ..] = &before.repetitions[..] else { panic!("{before:?}") };
    for (kept, reason) in [(first, NOT_FOUND_AGAIN), (second, "taken back")] {
        let strike = Write::StrikeOut { repetition: kept.id, reason: Some(reason.to_owned()) };
        writer.handle().save(strike).await.unwrap();
    }
    let after = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    assert_eq!(compared(&after), REPETITIONS - 1);
    writer.close().await.unwrap();
    let record = read(folder.path(), visit);
    let struck: Vec<(RepetitionId, &str)> = record
        .repetitions
        .iter()
        .filter_map(|one| Some((one.id, one.struck_out.as_deref()?)))
        .collect();
    assert_eq!(struck, [(second.id, "taken back")]);
}

#[tokio::test]
async fn what_the_whole_visit_does_not_show_is_struck_out_not_deleted() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, visit) = unheard(folder.path()).await;
    let invented = Repetition {
        side: Side::Left,
        phase: Phase::Baseline,
        direction: Direction::Internal,
        end_range_deg: 12.0,
        uncertainty_deg: 1.0,
        start_s: 0.1,
        end_range_at_s: 0.2,
        hold_s: 0.1,
        knee_flexion_deg: None,
        pelvis_roll_deg: None,
        barriers: None,
        flags: Vec::new(),
    };
    let row = rows::repetition(visit, &invented, ValueKind::Live);
    let id = writer.handle().add_repetition(row).await.unwrap();
    let finalised = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    assert_eq!(finalised.repetitions.len(), REPETITIONS);
    writer.close().await.unwrap();
    let record = read(folder.path(), visit);
    let struck = record.repetitions.iter().find(|one| one.id == id).unwrap();
    assert_eq!(struck.struck_out.as_deref(), Some(NOT_FOUND_AGAIN));
    assert!(struck.live.is_some());
}

#[tokio::test]
async fn a_visit_that_is_not_there_is_said_to_be_missing() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, _) = unheard(folder.path()).await;
    let missing = "99".parse().unwrap();
    let error = finalise(folder.path(), &writer.handle(), missing).await.unwrap_err();
    assert!(error.to_string().contains("there is no visit 99"), "{error}");
    writer.close().await.unwrap();
}

#[tokio::test]
async fn looks_are_paid_for_and_a_pain_stop_ends_asking() {
    let folder = tempfile::tempdir().unwrap();
    let (writer, visit) = unheard(folder.path()).await;
    let before = conditions(&read(folder.path(), visit), Side::Left);
    assert_eq!((before.looks, before.stopped_by_pain), (Looks::Once, false));
    let look = Look {
        visit,
        side: Side::Left,
        direction: Direction::Internal,
        retest_count: 3,
        told: LookTold::More,
        at_s: 5.0,
    };
    writer.handle().save(Write::Look(look)).await.unwrap();
    let stop = Mark { visit, at_s: 6.0, kind: rows::PAIN_STOP.to_owned(), note: None };
    writer.handle().save(Write::Mark(stop)).await.unwrap();
    let finalised = finalise(folder.path(), &writer.handle(), visit).await.unwrap();
    writer.close().await.unwrap();
    let record = read(folder.path(), visit);
    let found = conditions(&record, Side::Left);
    assert_eq!((found.looks, found.stopped_by_pain), (Looks::AfterEach, true));
    assert_eq!(conditions(&record, Side::Right).looks, Looks::Once);
    let sources: Vec<&str> =
        finalised.verdicts.iter().map(|verdict| verdict.mdc95_source.as_str()).collect();
    assert!(sources.iter().all(|one| one.contains("widened for looks")), "{sources:?}");
    assert_eq!(finalised.verdicts[0].more, Some(More::StoppedByPain));
}
