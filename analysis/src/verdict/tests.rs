//! What is said, and when it is not said.

use std::num::NonZeroUsize;

use endarc_protocol::words::Direction;

use super::*;
use crate::result::{Finding, Flag};
use crate::statistics::Sem;

const TEST: TestKind = TestKind::ProneHipRotation;

fn made(side: Side, direction: Direction, phase: Phase, values: &[f64]) -> Vec<Repetition> {
    values
        .iter()
        .map(|&end_range_deg| Repetition {
            side,
            phase,
            direction,
            end_range_deg,
            uncertainty_deg: 0.2,
            start_s: 0.0,
            end_range_at_s: 1.0,
            hold_s: 1.0,
            knee_flexion_deg: Some(90.0),
            pelvis_roll_deg: None,
            barriers: None,
            flags: Vec::new(),
        })
        .collect()
}

/// Internal rotation of the right leg.
fn repetitions(phase: Phase, values: &[f64]) -> Vec<Repetition> {
    made(Side::Right, Direction::Internal, phase, values)
}

fn visit(before: &[f64], after: &[f64]) -> Vec<Repetition> {
    let mut all = repetitions(Phase::Baseline, before);
    all.extend(repetitions(Phase::Retest, after));
    all
}

fn internal(conditions: &Conditions, all: &[Repetition]) -> Verdict {
    verdicts_under(conditions, Side::Right, TEST, all).remove(0)
}

fn usual(before: &[f64], after: &[f64]) -> Verdict {
    internal(&Conditions::default(), &visit(before, after))
}

fn changed(changed: &[Changed]) -> Conditions {
    Conditions { changed: changed.to_vec(), ..Conditions::default() }
}

const LARGE: ([f64; 3], [f64; 3]) = ([30.0, 31.0, 29.5], [40.0, 39.0, 41.0]);

/// The within-session example of the rule: 31.2, 32.0, 31.5 before and 35.9, 36.4, 35.2 after give a
/// change of 4.2667 with a limit of 1.163 from their own scatter (s_w 0.5132, 4 degrees of freedom):
/// past its own scatter, not past the floor of 6°.
#[test]
fn a_change_past_its_own_scatter_but_not_the_floor_is_within_error() {
    let verdict = usual(&[31.2, 32.0, 31.5], &[35.9, 36.4, 35.2]);
    assert!((verdict.change_deg.unwrap() - 4.266_667).abs() < 1e-6);
    let shown = verdict.ci95_repetitions_deg.unwrap();
    assert!(((shown[1] - shown[0]) / 2.0 - 1.163_312).abs() < 1e-6);
    assert_eq!(verdict.finding, Finding::WithinError);
    assert!((verdict.mdc95_deg - 6.0).abs() < 1e-12);
    assert!((verdict.mdc90_deg - 6.0 * 1.644_854 / 1.959_964).abs() < 1e-5);
    assert!(
        verdict.statement.contains("does not exceed our assumed limit of 6.0° (strap unmoved)")
    );
    assert!(verdict.statement.contains("no study of this set-up exists"));
    // What repetitions cannot show is in the interval too: nothing can be told from nothing here.
    let all = verdict.ci95_deg.unwrap();
    assert!(all[0] < 0.0 && all[1] > shown[1], "{all:?}");
}

#[test]
fn a_large_change_exceeds_and_a_scattered_one_does_not() {
    let large = usual(&LARGE.0, &LARGE.1);
    assert_eq!(large.finding, Finding::ExceedsError);
    assert!(large.statement.starts_with("Change of +9.8° exceeds our assumed limit of 6.0°"));
    assert!(large.ci95_deg.unwrap()[0] > 0.0);
    let scattered = usual(&[20.0, 30.0, 40.0], &[30.0, 38.0, 46.0]);
    assert_eq!(scattered.finding, Finding::WithinError);
    assert!(scattered.mdc95_source.contains("scatter of this visit's own repetitions"));
    assert!(scattered.mdc95_deg > 6.0);
}

#[test]
fn between_the_two_limits_a_change_is_possible_not_shown() {
    let verdict = usual(&[30.0, 30.1, 29.9], &[35.5, 35.6, 35.4]);
    assert_eq!(verdict.finding, Finding::WithinError);
    assert!(verdict.statement.ends_with("exceeds the 90 % limit of 5.0°: possible, not shown."));
}

/// Two directions, two end decisions: the limit of the total is √2 times that of one.
#[test]
fn the_total_has_a_larger_limit() {
    let all = repetitions(Phase::Baseline, &LARGE.0);
    let total = &verdicts(Side::Right, TEST, &all)[2];
    assert_eq!(total.direction, None);
    assert!((total.mdc95_deg - 8.485).abs() < 1e-3);
    assert!(total.mdc95_source.starts_with("√2 times the floor"));
}

/// A change that rounds to its limit is told with one decimal more.
#[test]
fn a_statement_never_contradicts_its_numbers() {
    let verdict = usual(&[30.0, 30.1, 29.9], &[36.04, 35.94, 36.14]);
    assert!(verdict.statement.starts_with("Change of +6.04° exceeds our assumed limit of 6.00°"));
}

#[test]
fn too_few_repetitions_give_no_comparison() {
    let verdict = usual(&[30.0, 31.0], &[]);
    assert_eq!((verdict.finding, verdict.change_deg), (Finding::NotEnough, None));
    assert_eq!((verdict.ci95_deg, verdict.ci95_repetitions_deg), (None, None));
    let nothing = usual(&[], &[]);
    assert_eq!(nothing.finding, Finding::NotEnough);
    let hole = usual(&[30.0, f64::NAN, 31.0], &LARGE.1);
    assert_eq!((hole.finding, hole.baseline_count), (Finding::NotEnough, 2));
}

#[test]
fn what_cannot_be_compared_gets_no_claim() {
    let all = visit(&LARGE.0, &LARGE.1);
    for (one, word) in [
        (Changed::Rater, "rater"),
        (Changed::Position, "position"),
        (Changed::EndCriterion, "criterion"),
    ] {
        let verdict = internal(&changed(&[one]), &all);
        assert_eq!(verdict.finding, Finding::NoClaim, "{one:?}");
        assert!(verdict.statement.contains(word), "{}", verdict.statement);
        assert_eq!(verdict.more, None);
    }
    let mut bent = all.clone();
    bent.iter_mut()
        .filter(|r| r.phase == Phase::Retest)
        .for_each(|r| r.knee_flexion_deg = Some(79.0));
    let verdict = internal(&Conditions::default(), &bent);
    assert_eq!(verdict.finding, Finding::NoClaim);
    assert!(verdict.statement.contains("the knee was bent 11° differently"));
    bent.iter_mut()
        .filter(|r| r.phase == Phase::Retest)
        .for_each(|r| r.knee_flexion_deg = Some(80.0));
    assert_eq!(internal(&Conditions::default(), &bent).finding, Finding::ExceedsError);
}

#[test]
fn the_floor_is_that_of_the_circumstances() {
    let all = visit(&LARGE.0, &LARGE.1);
    let floor = |conditions: &Conditions| internal(conditions, &all).mdc95_deg;
    assert!((floor(&changed(&[Changed::Strap])) - 9.0).abs() < 1e-12);
    assert!((floor(&changed(&[Changed::Strap, Changed::Day])) - 10.0).abs() < 1e-12);
    let painful = Conditions { painful: true, ..changed(&[Changed::Day]) };
    assert!((floor(&painful) - 13.0).abs() < 1e-12);
    let mut moved = all.clone();
    moved[4].flags.push(Flag::StrapMoved);
    let verdict = internal(&Conditions::default(), &moved);
    assert!(verdict.statement.contains("our assumed limit of 9.0° (strap moved)"));
}

#[test]
fn a_study_replaces_the_floor_where_it_repeated_what_differs() {
    let of = |deg| Sem::new(deg).unwrap();
    let three = NonZeroUsize::new(3).unwrap();
    let study = ReliabilityStudy::new(
        "our clinic 2026",
        Covers::SameStrap,
        (of(1.0), 24.0),
        (three, of(1.0)),
    );
    let conditions = |changed: &[Changed]| Conditions {
        study: Some(study.clone().unwrap()),
        changed: changed.to_vec(),
        ..Conditions::default()
    };
    let all = visit(&[30.0, 30.2, 29.8], &[35.0, 35.2, 34.8]);
    let verdict = internal(&conditions(&[]), &all);
    assert!((verdict.mdc95_deg - 2.771_859).abs() < 1e-5, "1.96·√2·1.0");
    assert_eq!(verdict.finding, Finding::ExceedsError);
    assert_eq!(
        verdict.statement,
        "Change of +5.0° exceeds the limit of 2.8° of the study “our clinic 2026”."
    );
    assert!(verdict.mdc95_source.contains("our clinic 2026"));
    let other_day = internal(&conditions(&[Changed::Day]), &all);
    assert!((other_day.mdc95_deg - 10.0).abs() < 1e-12, "it says nothing of another day");
}

#[test]
fn one_measure_is_the_primary_one() {
    let primary = Primary { side: Side::Right, direction: Some(Direction::Internal) };
    let conditions = Conditions { primary: Some(primary), ..Conditions::default() };
    let all = visit(&LARGE.0, &LARGE.1);
    let marked = |side| {
        verdicts_under(&conditions, side, TEST, &all).iter().map(|v| v.primary).collect::<Vec<_>>()
    };
    assert_eq!(marked(Side::Right), [true, false, false]);
    assert_eq!(marked(Side::Left), [false, false, false]);
}

#[test]
fn a_baseline_that_was_still_loosening_makes_no_gain() {
    let verdict = usual(&[26.0, 32.0, 32.2], &[41.6, 42.0, 42.2]);
    assert_eq!(verdict.finding, Finding::NoClaim);
    assert!(verdict.statement.contains("warm up"), "{}", verdict.statement);
    assert!((verdict.loosened_deg.unwrap() - 6.1).abs() < 1e-9);
    // A warm-up is asked for whatever is found.
    let within = usual(&[26.0, 32.0, 32.2], &[35.6, 36.0, 36.2]);
    assert_eq!(within.finding, Finding::WithinError);
    assert!(within.statement.contains("warm up"), "{}", within.statement);
    // With enough others the first is left out, and a gain that is none is none.
    let left_out = usual(&[22.0, 32.0, 32.2, 31.8], &[35.6, 36.0, 36.2]);
    assert_eq!((left_out.finding, left_out.baseline_count), (Finding::WithinError, 3));
    assert!(left_out.statement.contains("is left out"), "{}", left_out.statement);
    // A loss it could only hide.
    let loss = usual(&[42.0, 52.0, 52.2], &[35.6, 36.0, 36.2]);
    assert_eq!(loss.finding, Finding::ExceedsError);
}

#[test]
fn who_looks_each_time_needs_a_larger_change() {
    let looking = Conditions { looks: Looks::AfterEach, ..Conditions::default() };
    let before = [30.0, 30.5, 29.5];
    let limit = |after: &[f64]| internal(&looking, &visit(&before, after)).mdc95_deg;
    let limits: Vec<f64> = (3..=6).map(|count| limit(&vec![36.0; count])).collect();
    assert!(limits.windows(2).all(|pair| pair[0] > pair[1]), "{limits:?}");
    assert!(limits[3] > 6.0);
    // α at three of six is 0.00557: z 2.773, and 6°·2.773/1.960.
    assert!((limits[0] - 8.49).abs() < 0.01, "{limits:?}");
    assert_eq!(internal(&looking, &visit(&before, &[50.0, 50.1])).finding, Finding::NotEnough);
    // What is beyond the sixth is not looked at.
    let mut seven = vec![36.0; 6];
    seven.push(90.0);
    assert!((limit(&seven) - limits[3]).abs() < 1e-12);
    let verdict = internal(&looking, &visit(&before, &[36.0; 3]));
    assert!(verdict.statement.contains("looked at after every repetition"));
}

#[test]
fn more_repetitions_are_asked_for_only_where_they_decide() {
    let more = |before: &[f64], after: &[f64]| usual(before, after).more.unwrap();
    assert_eq!(more(&LARGE.0, &LARGE.1), More::Settled);
    assert_eq!(more(&LARGE.0, &[40.0]), More::Repetitions(2));
    // 4.3° however often it is repeated: the floor decides.
    assert_eq!(more(&[31.2, 32.0, 31.5], &[35.9, 36.4, 35.2]), More::FloorDecides);
    let scattered = ([27.0, 33.0, 30.0], [34.4, 40.4, 37.4]);
    let verdict = usual(&scattered.0, &scattered.1);
    assert_eq!(verdict.finding, Finding::WithinError);
    let Some(More::Repetitions(count)) = verdict.more else { panic!("{:?}", verdict.more) };
    assert!((1..=3).contains(&count));
    assert!((verdict.more.unwrap().duration_s() - 5.0 * count as f64).abs() < 1e-12);
    // As many more as were asked for settle it, if they go on as they are.
    let mut after = scattered.1.to_vec();
    after.extend([34.4, 40.4, 37.4].iter().take(count));
    assert_eq!(more(&[10.0, 30.0, 50.0], &[20.0, 38.0, 56.0]), More::OutOfReach);
    assert_eq!(more(&LARGE.0[..2], &LARGE.1), More::OutOfReach);
    let pain = Conditions { stopped_by_pain: true, ..Conditions::default() };
    let all = visit(&scattered.0, &scattered.1);
    assert_eq!(internal(&pain, &all).more, Some(More::StoppedByPain));
}

#[test]
fn sides_are_told_against_the_usual_tolerance_and_never_judged() {
    let mut all = made(Side::Left, Direction::Internal, Phase::Baseline, &[45.0, 45.5, 44.5]);
    all.extend(made(Side::Left, Direction::External, Phase::Baseline, &[40.0, 40.5, 39.5]));
    all.extend(made(Side::Right, Direction::Internal, Phase::Baseline, &[33.0, 33.5, 32.5]));
    all.extend(made(Side::Right, Direction::External, Phase::Baseline, &[42.0, 42.5, 41.5]));
    let found = side_differences(TEST, Phase::Baseline, &all, None);
    let told: Vec<_> = found.iter().map(|one| (one.direction, one.difference_deg)).collect();
    assert_eq!(
        told,
        [(Some(Direction::Internal), 12.0), (Some(Direction::External), -2.0), (None, 10.0)]
    );
    assert!(found[0].statement.contains("more than 10°"));
    assert!(found[1].statement.contains("within the usual tolerance"));
    for one in &found {
        let lowered = one.statement.to_lowercase();
        assert!(!lowered.contains("normal") && !lowered.contains("asymmetr"), "{lowered}");
    }
    let [low, high] = found[0].ci95_deg.unwrap();
    assert!(high - low > 16.0, "each leg has its own strap: {low} to {high}");
    assert!(side_differences(TEST, Phase::Retest, &all, None).is_empty());
}

#[test]
fn sides_whose_knees_were_bent_differently_are_not_compared() {
    let mut all = made(Side::Left, Direction::Internal, Phase::Baseline, &[45.0, 45.5, 44.5]);
    all.extend(made(Side::Right, Direction::Internal, Phase::Baseline, &[33.0, 33.5, 32.5]));
    let bend = |all: &mut Vec<Repetition>, deg: f64| {
        all.iter_mut()
            .filter(|one| one.side == Side::Right)
            .for_each(|one| one.knee_flexion_deg = Some(deg));
    };
    let left_deg = all[0].knee_flexion_deg.unwrap();
    bend(&mut all, left_deg + 11.0);
    let apart = &side_differences(TEST, Phase::Baseline, &all, None)[0];
    assert!(!apart.comparable);
    assert!(apart.statement.contains("the knees were bent 11° differently"), "{}", apart.statement);
    bend(&mut all, left_deg + 10.0);
    let alike = &side_differences(TEST, Phase::Baseline, &all, None)[0];
    assert!(alike.comparable && alike.statement.contains("more than 10°"));
}

#[test]
fn the_treated_leg_is_held_against_the_other_with_a_wider_interval() {
    let mut all = visit(&LARGE.0, &LARGE.1);
    all.extend(made(Side::Left, Direction::Internal, Phase::Baseline, &[35.0, 35.5, 34.5]));
    all.extend(made(Side::Left, Direction::Internal, Phase::Retest, &[38.0, 38.5, 37.5]));
    let found = controlled_changes(&Conditions::default(), Side::Right, TEST, &all);
    assert_eq!(found.len(), 1, "external was not measured");
    assert!((found[0].difference_deg - (9.833_333 - 3.0)).abs() < 1e-5);
    let width = |[low, high]: [f64; 2]| high - low;
    let own = verdicts(Side::Right, TEST, &all)[0].ci95_deg.unwrap();
    assert!(width(found[0].ci95_deg.unwrap()) > 1.3 * width(own));
}

#[test]
fn two_visits_are_compared_as_two_days() {
    let first = repetitions(Phase::Baseline, &LARGE.0);
    let second = repetitions(Phase::Baseline, &LARGE.1);
    let conditions = changed(&[Changed::Day, Changed::Strap]);
    let found = between(
        &conditions,
        (Side::Right, TEST),
        (&first, Phase::Baseline),
        (&second, Phase::Baseline),
    );
    assert_eq!(found[0].finding, Finding::WithinError);
    assert!(found[0].statement.contains("10.0° (other day)"), "{}", found[0].statement);
}
