//! Events in, effects and state out.

use endarc_analysis::limb::{LimbAngle, LimbEvent};
use endarc_analysis::result::{AlignmentKind, AlignmentReport, Flag, Repetition};
use endarc_analysis::verdict::verdicts;
use endarc_protocol::words::{Direction, Phase, SensorRole, Side, TestKind, TrialType};

use super::*;
use crate::live::{Compared, LegState, LiveChange};

mod counsel;

fn visit(marks: Marks) -> Visit {
    visit_of(marks, &[SensorRole::LeftShank, SensorRole::RightShank, SensorRole::Pelvis])
}

fn visit_of(marks: Marks, sensors: &[SensorRole]) -> Visit {
    Visit::start(&Opening {
        visit_id: "7".to_owned(),
        person: "P-001".to_owned(),
        test: TestKind::ProneHipRotation,
        start_s: 0.0,
        sensors: sensors.to_vec(),
        marks,
    })
}

/// Feeds an event whose effects do not matter.
fn feed(visit: &mut Visit, event: VisitEvent, now_s: f64) {
    drop(visit.handle(event, now_s));
}

fn mark(trial_type: TrialType, side: Option<Side>, time_s: f64) -> SpanMark {
    SpanMark { trial_type, side, time_s }
}

fn repetition(phase: Phase, end_range_deg: f64, end_range_at_s: f64) -> Repetition {
    Repetition {
        side: Side::Left,
        phase,
        direction: Direction::Internal,
        end_range_deg,
        uncertainty_deg: 0.8,
        start_s: end_range_at_s - 2.0,
        end_range_at_s,
        hold_s: 1.2,
        knee_flexion_deg: Some(88.0),
        pelvis_roll_deg: None,
        barriers: None,
        flags: vec![Flag::PelvisNotSeen],
    }
}

fn captured(number: usize, repetition: &Repetition) -> VisitEvent {
    let repetition = repetition.clone();
    VisitEvent::Limb { side: Side::Left, event: LimbEvent::Captured { number, repetition } }
}

fn key(number: usize) -> RepetitionKey {
    RepetitionKey { side: Side::Left, number }
}

fn kept(number: usize, id: &str) -> VisitEvent {
    VisitEvent::Kept { key: key(number), id: id.to_owned() }
}

fn records(effects: &[Effect]) -> Vec<&Record> {
    let record = |effect: &'_ Effect| matches!(effect, Effect::Store(_));
    effects
        .iter()
        .filter(|effect| record(effect))
        .map(|effect| match effect {
            Effect::Store(record) => record,
            _ => unreachable!(),
        })
        .collect()
}

fn lines(effects: &[Effect]) -> Vec<&str> {
    effects
        .iter()
        .filter_map(|effect| match effect {
            Effect::Announce(announcement) => Some(announcement.line.as_str()),
            _ => None,
        })
        .collect()
}

fn angle(angle_deg: f64, time_s: f64) -> VisitEvent {
    let event = LimbEvent::Angle(LimbAngle {
        time_s,
        angle_deg: Some(angle_deg),
        uncertainty_deg: Some(0.7),
        knee_flexion_deg: Some(90.0),
        pelvis_roll_deg: None,
        turned_deg: 0.0,
        up: [0.0, 0.0, 1.0],
        raised: true,
        still: false,
    });
    VisitEvent::Limb { side: Side::Left, event }
}

fn alignment(kind: AlignmentKind) -> VisitEvent {
    let report = AlignmentReport {
        kind,
        knee_axis: [0.0, 1.0, 0.0],
        long_axis: [0.0, 0.0, 1.0],
        residual_deg: 1.0,
        uncertainty_deg: 0.6,
        neutral_deg: 0.3,
    };
    VisitEvent::Limb { side: Side::Left, event: LimbEvent::Aligned(report) }
}

#[test]
fn a_span_of_one_leg_reaches_that_leg_only() {
    let mut visit = visit(Marks::Source);
    let begin = mark(TrialType::Baseline, Some(Side::Left), 20.0);
    let effects = visit.handle(VisitEvent::SpanBegan(begin), 20.1);
    assert_eq!(records(&effects), [&Record::SpanBegan(begin)]);
    assert!(effects.contains(&Effect::BeginLimb {
        side: Side::Left,
        trial_type: TrialType::Baseline,
        time_s: 20.0
    }));
    assert!(!effects.iter().any(|e| matches!(e, Effect::BeginLimb { side: Side::Right, .. })));
    assert_eq!(visit.state(20.1).phase, Some(Phase::Baseline));

    let end = mark(TrialType::Baseline, Some(Side::Left), 30.0);
    let effects = visit.handle(VisitEvent::SpanEnded(end), 30.0);
    assert_eq!(
        effects,
        [Effect::EndLimb { side: Side::Left, time_s: 30.0 }, Effect::Store(Record::SpanEnded(end))]
    );
    assert_eq!(visit.state(30.0).phase, None);
}

#[test]
fn a_span_ends_the_one_it_shares_a_leg_with_and_is_not_begun_twice() {
    let mut visit = visit(Marks::Source);
    let neutral = mark(TrialType::Neutral, Some(Side::Left), 1.0);
    let baseline = mark(TrialType::Baseline, None, 5.0);
    feed(&mut visit, VisitEvent::SpanBegan(neutral), 1.0);
    let effects = visit.handle(VisitEvent::SpanBegan(baseline), 5.0);
    let ended = mark(TrialType::Neutral, Some(Side::Left), 5.0);
    assert_eq!(records(&effects), [&Record::SpanEnded(ended), &Record::SpanBegan(baseline)]);
    assert_eq!(visit.handle(VisitEvent::SpanBegan(baseline), 5.0), []);
    assert_eq!(visit.handle(VisitEvent::SpanEnded(neutral), 6.0), []);
}

#[test]
fn a_repetition_is_shown_only_once_it_is_on_disk() {
    let mut visit = visit(Marks::Source);
    let first = repetition(Phase::Baseline, 31.0, 12.0);
    let effects = visit.handle(captured(0, &first), 12.5);
    assert_eq!(records(&effects), [&Record::Repetition { key: key(0), repetition: first.clone() }]);
    assert_eq!(visit.state(12.6).repetitions, []);

    let effects = visit.handle(kept(0, "101"), 12.7);
    assert!(lines(&effects)[0].contains("31.0°"), "{effects:?}");
    let shown = visit.state(12.7).repetitions;
    assert_eq!((shown.len(), shown[0].id.as_str()), (1, "101"));
}

#[test]
fn a_refined_value_replaces_the_first_one_and_is_stored() {
    let mut visit = visit(Marks::Source);
    feed(&mut visit, captured(0, &repetition(Phase::Baseline, 31.0, 12.0)), 12.5);
    feed(&mut visit, kept(0, "101"), 12.7);
    let better = repetition(Phase::Baseline, 31.4, 12.0);
    let event = LimbEvent::Refined { number: 0, repetition: better.clone() };
    let effects = visit.handle(VisitEvent::Limb { side: Side::Left, event }, 13.0);
    assert_eq!(records(&effects), [&Record::Refined { key: key(0), repetition: better }]);
    assert_eq!(visit.state(13.0).repetitions[0].end_range_deg, 31.4);
}

#[test]
fn undo_takes_back_the_last_kept_one_and_says_when_there_is_none() {
    let mut visit = visit(Marks::Source);
    let undo = || VisitEvent::Command(Command::Undo);
    assert_eq!(lines(&visit.handle(undo(), 1.0)), [strings::NOTHING_TO_UNDO]);
    for number in 0..3 {
        feed(&mut visit, captured(number, &repetition(Phase::Baseline, 31.0, 12.0)), 12.5);
    }
    feed(&mut visit, kept(0, "101"), 12.7);
    feed(&mut visit, kept(1, "102"), 12.7);
    let effects = visit.handle(undo(), 14.0);
    assert_eq!(
        records(&effects),
        [&Record::StruckOut { key: key(1), reason: strings::TAKEN_BACK }]
    );
    assert_eq!(visit.state(14.0).repetitions.len(), 1);
}

#[test]
fn before_is_held_against_after_while_the_retest_runs() {
    let mut visit = visit(Marks::Source);
    for (number, deg) in [30.0, 31.0, 32.0].into_iter().enumerate() {
        feed(&mut visit, captured(number, &repetition(Phase::Baseline, deg, 12.0)), 12.5);
        feed(&mut visit, kept(number, "1"), 12.7);
    }
    feed(&mut visit, captured(3, &repetition(Phase::Retest, 36.0, 90.0)), 90.5);
    let before = |visit: &Visit| {
        let changes = visit.state(91.0).changes;
        changes.into_iter().find(|c| c.direction == Compared::Internal).unwrap()
    };
    assert_eq!(before(&visit).baseline_mean_deg, Some(31.0));
    assert_eq!(before(&visit).retest_mean_deg, None);
    feed(&mut visit, kept(3, "4"), 90.7);
    assert_eq!(before(&visit).change_deg, Some(5.0));
}

#[test]
fn total_rotation_is_shown_with_the_limit_of_the_analysis() {
    let mut visit = visit(Marks::Source);
    let external = |phase, deg, at_s| Repetition {
        direction: Direction::External,
        ..repetition(phase, deg, at_s)
    };
    let mut all = Vec::new();
    for (phase, change) in [(Phase::Baseline, 0.0), (Phase::Retest, 4.0)] {
        for deg in [30.0, 31.0, 32.0] {
            all.extend([repetition(phase, deg + change, 12.0), external(phase, deg + 9.0, 14.0)]);
        }
    }
    for (number, one) in all.iter().enumerate() {
        feed(&mut visit, captured(number, one), 20.0);
        feed(&mut visit, kept(number, "1"), 20.1);
    }
    let expected = verdicts(Side::Left, TestKind::ProneHipRotation, &all)
        .into_iter()
        .find(|v| v.direction.is_none())
        .unwrap();
    let shown = LiveChange {
        side: Side::Left,
        direction: Compared::Total,
        baseline_mean_deg: Some(71.0),
        retest_mean_deg: Some(75.0),
        change_deg: Some(4.0),
        limit_deg: expected.mdc95_deg,
        statement: expected.statement,
    };
    let changes = visit.state(21.0).changes;
    assert_eq!(changes.len(), 3);
    assert!(changes.contains(&shown), "{changes:#?}");
    assert_eq!(serde_json::json!(shown)["direction"], "total");
}

#[test]
fn a_silent_sensor_is_named_within_a_second_and_shows_no_held_angle() {
    let mut visit = visit_of(Marks::Source, &[SensorRole::LeftShank]);
    let received = || VisitEvent::Received { role: SensorRole::LeftShank, samples: 2 };
    feed(&mut visit, received(), 1.0);
    feed(&mut visit, alignment(AlignmentKind::Quick), 1.0);
    feed(&mut visit, angle(12.0, 1.0), 1.0);
    assert_eq!(visit.state(1.5).legs[0].angle_deg, Some(12.0));
    assert_eq!(visit.handle(VisitEvent::Tick, 1.9), []);
    let effects = visit.handle(VisitEvent::Tick, 2.1);
    assert_eq!(lines(&effects), ["no data from the left shank sensor"]);
    assert_eq!(visit.handle(VisitEvent::Tick, 2.2), []);
    let left = &visit.state(4.0).legs[0];
    assert_eq!((left.state, left.angle_deg), (LegState::NoData, None));
    assert_eq!(left.notice, "No data from the left shank sensor for 3 s.");
    let effects = visit.handle(received(), 6.0);
    assert_eq!(lines(&effects), ["data from the left shank sensor again"]);
    assert_eq!(visit.state(6.0).sensors[0].received, 4);
}

#[test]
fn a_sensor_that_was_never_heard_is_silent_from_the_start_of_the_visit() {
    let mut visit = visit_of(Marks::Source, &[SensorRole::LeftShank]);
    assert_eq!(visit.handle(VisitEvent::Tick, 0.9), []);
    let effects = visit.handle(VisitEvent::Tick, 1.1);
    assert_eq!(lines(&effects), ["no data from the left shank sensor"]);
    assert_eq!(visit.handle(VisitEvent::Tick, 1.2), []);
    let state = visit.state(4.0);
    assert_eq!(state.legs[0].notice, "No data from the left shank sensor for 4 s.");
    assert_eq!((state.legs[0].data_age_s, state.sensors[0].data_age_s), (None, None));
    let received = VisitEvent::Received { role: SensorRole::LeftShank, samples: 1 };
    let effects = visit.clone().handle(received, 5.0);
    assert_eq!(lines(&effects), ["first data from the left shank sensor"]);

    let ended = visit.handle(VisitEvent::SourceEnded, 9.0);
    let [Record::Loss(loss)] = records(&ended)[..] else { panic!("{ended:?}") };
    assert_eq!((loss.from_s, loss.to_s, loss.cause), (0.0, 9.0, LossCause::LinkLost));
}

#[test]
fn what_is_lost_is_counted_and_stored() {
    let mut visit = visit(Marks::Source);
    let loss = Loss {
        role: SensorRole::Pelvis,
        from_s: 3.0,
        to_s: 3.07,
        lost: 6,
        cause: LossCause::SamplesMissing,
    };
    let effects = visit.handle(VisitEvent::Lost(loss), 3.1);
    assert_eq!(records(&effects), [&Record::Loss(loss)]);
    assert_eq!(visit.state(3.1).sensors[2].lost, 6);
}

#[test]
fn a_leg_is_ready_once_its_sensor_is_aligned() {
    let mut visit = visit(Marks::Source);
    assert_eq!(visit.state(0.0).legs[0].state, LegState::NoData);
    feed(&mut visit, angle(12.0, 0.1), 0.1);
    assert_eq!(visit.state(0.1).legs[0].state, LegState::NotAligned);
    let refused = LimbEvent::AlignmentRefused { time_s: 0.2, reason: "the shank moved".to_owned() };
    feed(&mut visit, VisitEvent::Limb { side: Side::Left, event: refused }, 0.2);
    assert_eq!(visit.state(0.2).legs[0].notice, "the shank moved");
    let effects = visit.handle(alignment(AlignmentKind::KneeBends), 0.3);
    assert!(matches!(records(&effects)[..], [Record::Alignment { side: Side::Left, .. }]));
    let left = &visit.state(0.3).legs[0];
    assert_eq!((left.state, left.notice.as_str()), (LegState::Ready, ""));
}

#[test]
fn the_pedal_goes_through_the_plan_and_then_ends_the_source() {
    let mut visit = visit(Marks::Therapist);
    let mut begun = Vec::new();
    for step in 0..7 {
        let effects = visit.handle(VisitEvent::Command(Command::Next), f64::from(step));
        begun.extend(records(&effects).iter().filter_map(|record| match record {
            Record::SpanBegan(mark) => Some((mark.trial_type, mark.side)),
            _ => None,
        }));
    }
    assert_eq!(begun.len(), 7);
    assert_eq!(begun[0], (TrialType::Neutral, Some(Side::Left)));
    assert_eq!(begun[6], (TrialType::Retest, None));
    let effects = visit.handle(VisitEvent::Command(Command::Next), 60.0);
    assert!(effects.contains(&Effect::EndSource), "{effects:?}");
}

#[test]
fn next_changes_nothing_where_the_source_brings_its_own_marks() {
    let mut visit = visit(Marks::Source);
    let effects = visit.handle(VisitEvent::Command(Command::Next), 0.3);
    assert_eq!(lines(&effects), [strings::NEXT_NOT_HERE]);
    assert_eq!(effects.len(), 1);
}

#[test]
fn the_end_closes_what_is_open_and_shows_final_values() {
    let mut visit = visit_of(Marks::Source, &[SensorRole::Pelvis]);
    let received = VisitEvent::Received { role: SensorRole::Pelvis, samples: 1 };
    feed(&mut visit, received, 5.0);
    let retest = mark(TrialType::Retest, None, 5.0);
    feed(&mut visit, VisitEvent::SpanBegan(retest), 5.0);
    let effects = visit.handle(VisitEvent::SourceEnded, 9.0);
    let stored = records(&effects);
    assert_eq!(stored[0], &Record::SpanEnded(mark(TrialType::Retest, None, 9.0)));
    let Record::Loss(loss) = stored[1] else { panic!("{stored:?}") };
    assert_eq!((loss.role, loss.from_s, loss.to_s), (SensorRole::Pelvis, 5.0, 9.0));
    assert!(!visit.state(9.0).ended);

    let repetition = repetition(Phase::Retest, 33.3, 8.0);
    let finished = Finished {
        repetitions: Some(vec![Kept { id: "5".to_owned(), repetition }]),
        remarks: vec!["right leg: no neutral hold".to_owned()],
    };
    let effects = visit.handle(VisitEvent::Finished(finished), 9.0);
    assert_eq!(lines(&effects), ["right leg: no neutral hold"]);
    let state = visit.state(9.0);
    assert!(state.ended);
    assert_eq!(state.repetitions[0].end_range_deg, 33.3);
}

#[test]
fn a_full_disk_is_said_once_and_shown() {
    let mut visit = visit(Marks::Source);
    let not_saving = || VisitEvent::NotSaving("the disk is full".to_owned());
    assert_eq!(lines(&visit.handle(not_saving(), 0.1)), ["NOT SAVING: the disk is full"]);
    assert_eq!(visit.handle(not_saving(), 0.2), []);
    assert!(!visit.state(0.2).saving);
    assert_eq!(lines(&visit.handle(VisitEvent::SavingAgain, 0.3)), [strings::SAVING_AGAIN]);
    assert_eq!(visit.handle(VisitEvent::SavingAgain, 0.4), []);
    assert!(visit.state(0.4).saving);
}

#[test]
fn a_repetition_that_the_store_refuses_is_said_and_not_shown() {
    let mut visit = visit(Marks::Source);
    feed(&mut visit, captured(0, &repetition(Phase::Baseline, 31.0, 12.0)), 12.5);
    let refused = VisitEvent::NotKept { key: key(0), reason: "no such visit".to_owned() };
    let effects = visit.handle(refused, 12.6);
    assert!(lines(&effects)[0].contains("no such visit"), "{effects:?}");
    assert_eq!(visit.state(12.6).repetitions, []);
}
