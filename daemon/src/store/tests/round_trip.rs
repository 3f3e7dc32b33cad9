//! What is written is read back, beside the writer and after it.

use rusqlite::Connection;

use super::super::records::RepetitionRecord;
use super::super::rows::{Alignment, Gap, Look, Mark, Verdict};
use super::super::words::{AlignmentKind, EndCriterion, Finding, GapCause, LookTold, VisitState};
use super::super::{DATABASE_FILE, ReadError, WriteError};
use super::*;

#[tokio::test]
async fn a_visit_is_read_back_as_it_was_written() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let new = NewVisit {
        table_tilt_deg: Some(1.5),
        primary: Some((Side::Left, Direction::Internal)),
        end_criterion: Some(EndCriterion::FirstResistance),
        notes: Some("after work; \"tired\"".to_owned()),
        ..new_visit()
    };
    let visit = to.begin_visit(new.clone()).await.unwrap();
    let strapped = sensor(visit, SensorRole::LeftShank);
    to.send(Write::StrapSensor(strapped.clone())).await.unwrap();
    let alignment = alignment(visit);
    to.send(Write::Alignment(alignment.clone())).await.unwrap();
    let gap = Gap {
        visit,
        role: SensorRole::LeftShank,
        from_s: 3.0,
        to_s: 3.5,
        lost: 50,
        cause: GapCause::LinkLost,
    };
    to.send(Write::Gap(gap)).await.unwrap();
    let mark = Mark { visit, at_s: 4.0, kind: "pedal".to_owned(), note: None };
    to.send(Write::Mark(mark.clone())).await.unwrap();
    let look = Look {
        visit,
        side: Side::Left,
        direction: Direction::Internal,
        retest_count: 3,
        told: LookTold::LimitDecides,
        at_s: 5.0,
    };
    to.send(Write::Look(look.clone())).await.unwrap();
    to.send(Write::ClockCorrected { visit, by_s: -2.0 }).await.unwrap();
    to.send(Write::ClockCorrected { visit, by_s: -1.0 }).await.unwrap();
    let verdict = verdict(visit);
    to.send(Write::Verdict(verdict.clone())).await.unwrap();
    // The second of the same algorithm takes the place of the first.
    to.save(Write::Verdict(verdict.clone())).await.unwrap();

    let reader = Reader::open(dir.path()).unwrap();
    let record = reader.visit(visit).unwrap().unwrap();
    assert_eq!(record.summary, reader.visits().unwrap()[0]);
    assert_eq!(record.summary.person, new.person);
    assert_eq!(record.summary.started, new.started);
    assert_eq!(record.summary.started.rfc3339(), "2026-11-25T09:30:00+01:00");
    assert_eq!((record.summary.state, record.summary.ended()), (VisitState::Open, None));
    assert_eq!(record.summary.uid.len(), 32);
    assert_eq!(record.table_tilt_deg, new.table_tilt_deg);
    assert_eq!(record.table, None);
    assert_eq!(record.primary, new.primary);
    assert_eq!(record.end_criterion, new.end_criterion);
    assert_eq!(record.notes, new.notes);
    assert_eq!(record.clock_corrected_s, Some(-3.0));
    assert_eq!(record.sensors[0].address, strapped.address);
    assert_eq!(record.looks, [look]);
    assert_eq!(record.alignments, [alignment]);
    assert_eq!(record.gaps, [gap]);
    assert_eq!(record.marks, [mark]);
    assert_eq!(record.verdicts, [verdict]);

    let ended = Write::EndVisit { visit, state: VisitState::Closed, ended_s: 1200.0 };
    to.save(ended).await.unwrap();
    let summary = reader.visits().unwrap().remove(0);
    assert_eq!(summary.state, VisitState::Closed);
    assert_eq!(summary.ended().unwrap().rfc3339(), "2026-11-25T09:50:00+01:00");
    writer.close().await.unwrap();
}

fn alignment(visit: VisitId) -> Alignment {
    Alignment {
        visit,
        role: SensorRole::LeftShank,
        strap_epoch: 0,
        at_s: 9.0,
        kind: AlignmentKind::KneeBends,
        knee_axis: [0.0, 1.0, 0.0],
        long_axis: [0.0, 0.0, 1.0],
        residual_deg: 1.2,
        uncertainty_deg: 0.6,
        neutral_deg: -0.4,
        algorithm_version: "1".to_owned(),
    }
}

fn verdict(visit: VisitId) -> Verdict {
    Verdict {
        visit,
        side: Side::Left,
        direction: None,
        baseline_count: 5,
        retest_count: 4,
        baseline_mean_deg: Some(76.0),
        retest_mean_deg: Some(80.5),
        change_deg: Some(4.5),
        ci95_deg: Some([2.0, 7.0]),
        mdc95_deg: Some(8.0),
        mdc95_source: "an invented source".to_owned(),
        finding: Finding::WithinError,
        statement: "within measurement error".to_owned(),
        algorithm_version: "1".to_owned(),
        computed_at: "2026-11-25T08:40:00Z".parse().unwrap(),
    }
}

#[tokio::test]
async fn repetitions_are_numbered_and_keep_every_value() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    let first = to.add_repetition(repetition(visit, Direction::Internal)).await.unwrap();
    to.add_repetition(repetition(visit, Direction::External)).await.unwrap();
    let second = to.add_repetition(repetition(visit, Direction::Internal)).await.unwrap();
    let refined = value(ValueKind::Live, "1", 31.75);
    let old = value(ValueKind::Final, "1", 31.25);
    let newer = RepetitionValue {
        computed_at: "2026-11-25T08:31:01Z".parse().unwrap(),
        ..value(ValueKind::Final, "0.9", 31.125)
    };
    for value in [&newer, &refined, &old] {
        let value = value.clone();
        to.send(Write::RepetitionValue { repetition: first, value }).await.unwrap();
    }
    let reason = Some("the person laughed".to_owned());
    to.save(Write::StrikeOut { repetition: second, reason: reason.clone() }).await.unwrap();

    let record = Reader::open(dir.path()).unwrap().visit(visit).unwrap().unwrap();
    let told = |r: &RepetitionRecord| (r.direction, r.number, r.struck_out.clone());
    assert_eq!(
        record.repetitions.iter().map(told).collect::<Vec<_>>(),
        [
            (Direction::Internal, 1, None),
            (Direction::External, 1, None),
            (Direction::Internal, 2, reason)
        ]
    );
    let kept = &record.repetitions[0];
    assert_eq!(kept.rater.as_ref().unwrap().as_str(), "R1");
    assert_eq!(kept.live.as_ref(), Some(&refined));
    assert_eq!(kept.finals, [old, newer.clone()]);
    assert_eq!(kept.value(), Some(&newer));
    assert_eq!(record.repetitions[1].value().unwrap().end_range_deg, 31.5);
    writer.close().await.unwrap();
}

#[tokio::test]
async fn merging_keeps_every_sample_also_for_who_is_reading() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    let span = to.begin_span(span(visit, TrialType::Baseline, 0.0)).await.unwrap();
    for second in 0..8 {
        to.send(chunk(visit, SensorRole::LeftShank, second)).await.unwrap();
        to.save(chunk(visit, SensorRole::RightShank, second)).await.unwrap();
    }
    let reader = Reader::open(dir.path()).unwrap();
    let mut reading = reader.raw_samples(visit, SensorRole::LeftShank);
    let mut read: Vec<Sample> = reading.by_ref().take(3).flat_map(Result::unwrap).collect();
    assert_eq!(read.len(), 300);
    to.save(Write::EndSpan { span, end_s: 8.0 }).await.unwrap();
    read.extend(reading.flat_map(Result::unwrap));
    assert_eq!(read, samples(0, 8));

    to.save(chunk(visit, SensorRole::RightShank, 8)).await.unwrap();
    writer.close().await.unwrap();
    let right = reader.raw_samples(visit, SensorRole::RightShank).collect::<Vec<_>>();
    assert_eq!(right.len(), 1, "merged at the span's end, and again at the visit's");
    assert_eq!(read_samples(&reader, visit, SensorRole::RightShank), samples(0, 9));
    assert_eq!(read_samples(&reader, visit, SensorRole::Pelvis), []);
    let record = reader.visit(visit).unwrap().unwrap();
    assert_eq!((record.summary.state, record.summary.ended_s), (VisitState::Closed, Some(8.99)));
    assert_eq!(record.spans[0].end_s, Some(8.0));
}

#[tokio::test]
async fn a_damaged_chunk_is_told_and_its_neighbours_are_kept() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    for second in 0..3 {
        to.save(chunk(visit, SensorRole::LeftShank, second)).await.unwrap();
    }
    let other = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    other.execute("UPDATE raw_chunk SET bytes = x'00' WHERE start_s = 1", []).unwrap();
    writer.close().await.unwrap();

    let reader = Reader::open(dir.path()).unwrap();
    let (good, bad): (Vec<_>, Vec<_>) =
        reader.raw_samples(visit, SensorRole::LeftShank).partition(Result::is_ok);
    assert!(matches!(bad[..], [Err(ReadError::Chunk { .. })]));
    let read: Vec<Sample> = good.into_iter().flat_map(Result::unwrap).collect();
    assert_eq!(read, [samples(0, 1), samples(2, 3)].concat());
}

#[tokio::test]
async fn what_cannot_be_is_refused_alone() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    let (stray, good) = tokio::join!(
        to.save(chunk(visit, SensorRole::Pelvis, 0)),
        to.save(chunk(visit, SensorRole::LeftShank, 0)),
    );
    assert!(matches!(stray, Err(WriteError::Refused(_))), "no pelvis sensor was strapped on");
    good.unwrap();
    let mut impossible = repetition(visit, Direction::Internal);
    impossible.value.uncertainty_deg = 0.0;
    let refused = to.add_repetition(impossible.clone()).await;
    assert!(matches!(refused, Err(WriteError::Refused(_))));
    impossible.value.uncertainty_deg = f64::NAN;
    assert!(to.add_repetition(impossible).await.is_err());
    let nobody = Write::ClockCorrected { visit: VisitId(99), by_s: 1.0 };
    assert!(matches!(to.save(nobody).await, Err(WriteError::Refused(_))));
    writer.close().await.unwrap();

    assert!(matches!(
        to.send(chunk(visit, SensorRole::LeftShank, 1)).await,
        Err(WriteError::Closed)
    ));
    let record = Reader::open(dir.path()).unwrap().visit(visit).unwrap().unwrap();
    assert_eq!(record.repetitions, [], "nothing is half there");
}

#[tokio::test]
async fn exchanged_sensors_take_what_they_sent_to_the_other_leg() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    to.save(chunk(visit, SensorRole::LeftShank, 0)).await.unwrap();
    to.save(Write::ExchangeShanks { visit }).await.unwrap();
    to.save(chunk(visit, SensorRole::LeftShank, 3)).await.unwrap();
    writer.close().await.unwrap();

    let reader = Reader::open(dir.path()).unwrap();
    let record = reader.visit(visit).unwrap().unwrap();
    let address = |role| {
        let worn = record.sensors.iter().find(|sensor| sensor.role == role).unwrap();
        (worn.address.clone(), worn.strap_epoch)
    };
    assert_eq!(address(SensorRole::LeftShank), ("sim:right-shank".to_owned(), 0));
    assert_eq!(address(SensorRole::RightShank), ("sim:left-shank".to_owned(), 0));
    let starts = |role| {
        let chunks = reader.raw_samples(visit, role);
        let starts = chunks.map(|chunk| chunk.unwrap().first().unwrap().time_s);
        starts.collect::<Vec<f64>>()
    };
    assert_eq!(starts(SensorRole::RightShank), [0.0]);
    assert_eq!(starts(SensorRole::LeftShank), [3.0]);
}
